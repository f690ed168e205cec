package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
)

//go:embed static shell.html
var embedded embed.FS

// buildHeader tells which build a page is of, so that the service worker never
// mixes two.
const buildHeader = "Fringework-Build"

// file is one thing that is served.
type file struct {
	body        []byte
	packed      []byte // gzip; nil when that is no smaller
	contentType string
	hash        string // of body, in hexadecimal
	// policy and build are for pages alone.
	policy string
	build  string
	hidden bool
}

// site is everything that is served.
type site struct {
	// build names the content of all files together.
	build string
	// assets are by their path below /assets/BUILD/.
	assets map[string]*file
	// pages are by their whole path, the service worker and the manifest
	// included.
	pages map[string]*file
}

// assetRoot is where the assets of a build are.
func (s *site) assetRoot() string { return "/assets/" + s.build + "/" }

// find gives what is served at a path, nil when that is nothing of ours. Assets
// are found under any build's name: while replicas are being replaced, a page of
// one may ask another.
func (s *site) find(p string) *file {
	if rest, ok := strings.CutPrefix(p, "/assets/"); ok {
		_, name, _ := strings.Cut(rest, "/")
		return s.assets[name]
	}
	return s.pages[p]
}

// immutable reports whether what is at a path never changes.
func (s *site) immutable(p string) bool { return strings.HasPrefix(p, s.assetRoot()) }

// types are the content types by the end of the name. What has none of these is
// not served.
var types = map[string]string{
	".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".svg": "image/svg+xml",
	".png": "image/png", ".html": "text/html; charset=utf-8", ".webmanifest": "application/manifest+json",
	".LICENSE": "text/plain; charset=utf-8", ".md": "text/plain; charset=utf-8",
}

func newFile(name string, body []byte) (*file, error) {
	contentType, ok := types[path.Ext(name)]
	if !ok {
		return nil, fmt.Errorf("%s has no content type", name)
	}
	sum := sha256.Sum256(body)
	f := &file{body: body, contentType: contentType, hash: hex.EncodeToString(sum[:8])}
	var err error
	if packed, e := pack(body); e != nil {
		err = e
	} else if len(packed) < len(body) {
		f.packed = packed
	}
	return f, err
}

func pack(body []byte) ([]byte, error) {
	var b bytes.Buffer
	w, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(body); err != nil {
		return nil, err
	}
	err = w.Close()
	return b.Bytes(), err
}

// load reads what is embedded and makes the pages.
func load() (*site, error) {
	s := &site{assets: map[string]*file{}, pages: map[string]*file{}}
	static, err := fs.Sub(embedded, "static")
	if err != nil {
		return nil, err
	}
	sum := sha256.New()
	err = fs.WalkDir(static, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		body, err := fs.ReadFile(static, name)
		if err != nil {
			return err
		}
		body = withoutComments(name, body)
		fmt.Fprintf(sum, "%s %d\n", name, len(body))
		sum.Write(body)
		s.assets[name], err = newFile(name, body)
		return err
	})
	if err != nil {
		return nil, err
	}
	shell, err := embedded.ReadFile("shell.html")
	if err != nil {
		return nil, err
	}
	sum.Write(shell)
	s.build = hex.EncodeToString(sum.Sum(nil)[:8])
	return s, s.makePages(string(shell))
}

// makePages makes what names the build: shells, manifest and service worker,
// which take their own place among the assets.
func (s *site) makePages(shell string) error {
	if err := s.makeShells(shell); err != nil {
		return err
	}
	if err := s.makeManifest(); err != nil {
		return err
	}
	return s.makeWorker()
}

func (s *site) makeManifest() error {
	const name = "manifest.webmanifest"
	body := strings.ReplaceAll(string(s.assets[name].body), "ASSETS/", s.assetRoot())
	f, err := newFile(name, []byte(body))
	delete(s.assets, name)
	s.pages["/"+name] = f
	return err
}

// makeWorker puts the build and the list of what to keep before the service
// worker's own text.
func (s *site) makeWorker() error {
	const name = "worker.js"
	body := s.assets[name].body
	delete(s.assets, name)
	keep := []string{}
	for _, p := range slices.Sorted(maps.Keys(s.assets)) {
		if ext := path.Ext(p); ext != ".LICENSE" && ext != ".md" {
			keep = append(keep, s.assetRoot()+p)
		}
	}
	list, err := json.Marshal(keep)
	if err != nil {
		return err
	}
	pages, err := json.Marshal(slices.Sorted(maps.Keys(s.pages)))
	if err != nil {
		return err
	}
	head := fmt.Sprintf("const BUILD = %q;\nconst PAGES = %s;\nconst ASSETS = %s;\n", s.build, pages, list)
	f, err := newFile(name, append([]byte(head), body...))
	if err != nil {
		return err
	}
	f.policy = "default-src 'self'"
	s.pages["/sw.js"] = f
	return nil
}
