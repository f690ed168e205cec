//go:build unix

package guide_test

import (
	"cmp"
	"encoding/json"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v3"

	"fringework/integration/postgres"
)

// composed is compose.yaml, as far as it is looked at here.
type composed struct {
	Services map[string]composedService
	Secrets  map[string]struct{ File string }
}

type composedService struct {
	Image, User string
	Command     []string
	Environment map[string]string
	Secrets     []string
	Volumes     []string
	Ports       []string
	ReadOnly    bool   `yaml:"read_only"`
	Restart     string `yaml:"restart"`
	Healthcheck struct{ Test []string }
	Deploy      struct {
		Resources struct{ Limits struct{ Memory string } }
	}
	SecurityOpt []string `yaml:"security_opt"`
	CapDrop     []string `yaml:"cap_drop"`
}

// compose.yaml keeps to the Compose Specification: testdata/compose has its JSON Schema,
// of github.com/compose-spec/compose-go v2.16.2.
func TestComposeFileKeepsToTheSpecification(t *testing.T) {
	schema, err := jsonschema.UnmarshalJSON(strings.NewReader(read(t, "testdata/compose/compose-spec.json")))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("compose-spec.json", schema); err != nil {
		t.Fatal(err)
	}
	holds, err := c.Compile("compose-spec.json")
	if err != nil {
		t.Fatal(err)
	}
	check := func(text string) error {
		var doc map[string]any
		if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
			t.Fatal(err)
		}
		asJSON, err := json.Marshal(doc)
		if err != nil {
			t.Fatal(err)
		}
		plain, err := jsonschema.UnmarshalJSON(strings.NewReader(string(asJSON)))
		if err != nil {
			t.Fatal(err)
		}
		return holds.Validate(plain)
	}
	text := read(t, deploy+"compose.yaml")
	if err := check(text); err != nil {
		t.Error(err)
	}
	if err := check(strings.Replace(text, "retries: 3", "tries: 3", 1)); err == nil {
		t.Error("a health check with tries, which there is none of, passes")
	}
}

// image is the Dockerfile's last stage.
type image struct {
	entrypoint, cmd []string
	user, port      string
	env             map[string]string
	files           []string
}

var variable = regexp.MustCompile(`([A-Z_]+)=(\S+)`)

func dockerfile(t *testing.T) (i image) {
	t.Helper()
	text := strings.ReplaceAll(read(t, "../../Dockerfile"), "\\\n", " ")
	text = text[strings.LastIndex(text, "\nFROM "):]
	i.env = map[string]string{}
	list := func(rest string) (words []string) {
		if err := json.Unmarshal([]byte(rest), &words); err != nil {
			t.Fatalf("%s is no list: %v", rest, err)
		}
		return words
	}
	for line := range strings.Lines(text) {
		instruction, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		switch instruction {
		case "ENTRYPOINT":
			i.entrypoint = list(rest)
		case "CMD":
			i.cmd = list(rest)
		case "USER":
			i.user = rest
		case "EXPOSE":
			i.port = rest
		case "ENV":
			for _, m := range variable.FindAllStringSubmatch(rest, -1) {
				i.env[m[1]] = m[2]
			}
		case "COPY":
			words := strings.Fields(rest)
			i.files = append(i.files, words[len(words)-1])
		}
	}
	return i
}

// environment is that of a container of the image, with what it sets differently; paths
// of a container become paths here.
func (i image) environment(set map[string]string, here *strings.Replacer) (env []string) {
	for name, value := range i.env {
		if _, ok := set[name]; !ok {
			env = append(env, name+"="+here.Replace(value))
		}
	}
	for name, value := range set {
		env = append(env, name+"="+here.Replace(value))
	}
	return env
}

// known fails for variables that the program does not know, which would change nothing.
func known(t *testing.T, help string, env []string) {
	t.Helper()
	for _, v := range env {
		name, _, _ := strings.Cut(v, "=")
		if strings.HasPrefix(name, "FRINGEWORK_") && !strings.Contains(help, "$"+name) {
			t.Errorf("%s is set, and no flag of the program reads it", name)
		}
	}
}

// What the Dockerfile makes runs by itself: its variables, its command and its folder.
func TestImageServesByItself(t *testing.T) {
	m, i := here(t), dockerfile(t)
	if len(i.entrypoint) != 1 || !slices.Contains(i.files, i.entrypoint[0]) {
		t.Errorf("the image runs %v and has the files %v", i.entrypoint, i.files)
	}
	if i.user == "" || strings.HasPrefix(i.user, "0") || i.user == "root" {
		t.Errorf("the image runs as %q; want a user without privileges", i.user)
	}
	if i.env["FRINGEWORK_LISTEN"] != "0.0.0.0:"+i.port {
		t.Errorf("the image listens on %q and exposes %q", i.env["FRINGEWORK_LISTEN"], i.port)
	}
	env := i.environment(nil, strings.NewReplacer("/data/", m.dir+"/", "0.0.0.0:"+i.port, "127.0.0.1:0"))
	known(t, m.must(t, nil, "fringework", "serve", "--help"), env)
	s := m.serve(t, env, append([]string{"fringework"}, i.cmd...)...)
	m.must(t, []string{"FRINGEWORK_LISTEN=" + strings.TrimPrefix(s.url, "http://")}, "fringework", "ready")
	s.stop(t)
	if _, err := os.Stat(filepath.Join(m.dir, "fringework.db")); err != nil {
		t.Errorf("the image does not keep its database in /data: %v", err)
	}
}

// asComposed has PostgreSQL archive as compose.yaml does, and does what the other services
// there do: bring the schema up to date, serve, and say when requests are taken.
func asComposed(t *testing.T, m machine, server *postgres.Server, database string) {
	var c composed
	if err := yaml.Unmarshal([]byte(read(t, deploy+"compose.yaml")), &c); err != nil {
		t.Fatal(err)
	}
	i := dockerfile(t)
	archive := filepath.Join(m.dir, "composed-archive")
	m.must(t, nil, "mkdir", archive)
	if !slices.Contains(c.Services["database"].Volumes, "./archive.sql:/docker-entrypoint-initdb.d/archive.sql:ro") || !slices.Contains(c.Services["database"].Volumes, "./archive:/archive") {
		t.Errorf("the database has the folders %v; want the archive and what has it filled", c.Services["database"].Volumes)
	}
	settings := strings.Replace(read(t, deploy+"archive.sql"), "'/archive'", "'"+archive+"'", 1)
	m.must(t, nil, "bash", "-c", "psql --quiet --set=ON_ERROR_STOP=1 <<'SQL'\n"+settings+"SQL\n")
	restart := []string{"pg_ctl", "restart", "--pgdata=" + server.Data(), "--wait", "--log=" + filepath.Join(m.dir, "composed.log")}
	m.must(t, nil, restart...)
	if got := strings.TrimSpace(m.must(t, nil, "psql", "-qAt", "--command=LOAD 'basic_archive'", "--command=SELECT setting FROM pg_settings WHERE name IN ('archive_library', 'archive_mode', 'basic_archive.archive_directory') ORDER BY name")); got != "basic_archive\non\n"+archive {
		t.Errorf("the database archives by %q", got)
	}

	folder := filepath.Join(m.dir, "composed")
	m.must(t, nil, "mkdir", folder)
	m.installed(t, folder)
	if want := "database:5432:fringework:fringework:" + m.must(t, nil, "cat", folder+"/secrets/database_password"); m.must(t, nil, "cat", folder+"/secrets/pgpass") != want {
		t.Errorf("the service's password file is not %q", want)
	}
	address := strings.TrimSuffix(strings.TrimPrefix(database, "postgres://postgres@"), "/postgres?sslmode=disable")
	places := strings.NewReplacer("/run/secrets/", folder+"/secrets/", "/run/keys/", folder+"/secrets/keys/", "/data/", m.dir+"/", "0.0.0.0:"+i.port, "127.0.0.1:0", "fringework@database/fringework?", "postgres@"+address+"/postgres?sslmode=disable&")
	help := m.must(t, nil, "fringework", "serve", "--help")
	for name, s := range c.Services {
		checkHardened(t, name, s)
		if s.Image != "fringework" {
			continue
		}
		if s.User != i.user {
			t.Errorf("%s runs as %s, and the image is made for %s", name, s.User, i.user)
		}
		known(t, help, i.environment(s.Environment, places))
		if !slices.Equal(s.Volumes, []string{"./secrets/keys:/run/keys:ro"}) {
			t.Errorf("%s has the folders %v; want the keys alone, to read", name, s.Volumes)
		}
		for _, value := range s.Environment {
			if file, ok := strings.CutPrefix(value[max(0, strings.LastIndex(value, "/run/")):], "/run/secrets/"); ok && (!slices.Contains(s.Secrets, file) || c.Secrets[file].File != "./secrets/"+file) {
				t.Errorf("%s reads the secret %s, which is not among its secrets", name, file)
			}
		}
	}
	migrate, serve := c.Services["migrate"], c.Services["fringework"]
	if said := m.must(t, i.environment(migrate.Environment, places), append([]string{"fringework"}, migrate.Command...)...); !strings.Contains(said, "up to date") {
		t.Errorf("the step before serving says %q", said)
	}
	if want := []string{"127.0.0.1:8080:" + i.port}; !slices.Equal(serve.Ports, want) {
		t.Errorf("the service is published at %v; want %v", serve.Ports, want)
	}
	s := m.serve(t, i.environment(serve.Environment, places), append([]string{"fringework"}, serve.Command...)...)
	check := serve.Healthcheck.Test
	if len(check) != 3 || check[0] != "CMD" || check[1] != i.entrypoint[0] {
		t.Fatalf("the service is checked by %q; want the image's program", check)
	}
	asked := []string{"FRINGEWORK_LISTEN=" + strings.TrimPrefix(s.url, "http://")}
	m.must(t, asked, "fringework", check[2])
	s.stop(t)
	if code, said := m.run(t, asked, "fringework", check[2]); code != 1 || !strings.Contains(said, "no service answers") {
		t.Errorf("of a service that has ended, %s gives %d and says %q", check[2], code, said)
	}
	m.must(t, nil, "psql", "--quiet", "--command=DROP SCHEMA public CASCADE", "--command=CREATE SCHEMA public", "--command=ALTER SYSTEM RESET ALL")
	m.must(t, nil, restart...)
	m.must(t, nil, "rm", "-r", archive, folder)
}

// checkHardened wants what every container is to have.
func checkHardened(t *testing.T, name string, s composedService) {
	t.Helper()
	if s.User == "" || strings.HasPrefix(s.User, "0:") || !s.ReadOnly || !slices.Equal(s.CapDrop, []string{"ALL"}) || !slices.Equal(s.SecurityOpt, []string{"no-new-privileges:true"}) {
		t.Errorf("%s may do more than it needs: user %q, read-only %v, capabilities dropped %v, %v", name, s.User, s.ReadOnly, s.CapDrop, s.SecurityOpt)
	}
	if s.Deploy.Resources.Limits.Memory == "" || s.Restart == "" || len(s.Secrets) == 0 {
		t.Errorf("%s has no limit on memory, no word about restarts, or no secrets", name)
	}
}

// The unit of systemd runs the program as it says, and hears from it when it takes
// requests and when it stops, see sd_notify(3).
func TestUnitStartsTheProgram(t *testing.T) {
	m := here(t)
	unit := map[string][]string{}
	for line := range strings.Lines(read(t, deploy+"fringework.service")) {
		if name, value, ok := strings.Cut(strings.TrimSpace(line), "="); ok && !strings.HasPrefix(name, "#") {
			unit[name] = append(unit[name], value)
		}
	}
	one := func(name string) string {
		if len(unit[name]) != 1 {
			t.Fatalf("the unit says %s %d times", name, len(unit[name]))
		}
		return unit[name][0]
	}
	if one("WorkingDirectory") != "/var/lib/"+one("StateDirectory") || one("Type") != "notify" {
		t.Errorf("the unit works in %s, keeps %s and is of type %s", one("WorkingDirectory"), one("StateDirectory"), one("Type"))
	}
	credential, _, _ := strings.Cut(one("LoadCredential"), ":")
	settings := regexp.MustCompile(`(?m)^echo '(\{.*\})' \| sudo install .* /etc/fringework/` + regexp.QuoteMeta(credential) + `$`).FindStringSubmatch(read(t, deploy+"OPERATING.md"))
	if settings == nil {
		t.Fatalf("the guide does not make /etc/fringework/%s", credential)
	}
	if err := os.WriteFile(filepath.Join(m.dir, credential), []byte(settings[1]), 0o600); err != nil {
		t.Fatal(err)
	}
	var env []string
	for _, v := range unit["Environment"] {
		env = append(env, strings.NewReplacer("%d", m.dir, "127.0.0.1:8080", "127.0.0.1:0").Replace(v))
	}
	known(t, m.must(t, nil, "fringework", "serve", "--help"), env)

	manager, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: filepath.Join(m.dir, "s"), Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = manager.Close() }()
	told := func() string {
		var b [64]byte
		n, err := manager.Read(b[:])
		if err != nil {
			t.Fatal(err)
		}
		return string(b[:n])
	}
	starts := strings.Fields(one("ExecStart"))
	if starts[0] != "/usr/local/bin/fringework" {
		t.Errorf("the unit starts %s", starts[0])
	}
	s := m.serve(t, append(env, "NOTIFY_SOCKET="+filepath.Join(m.dir, "s")), append([]string{"fringework"}, starts[1:]...)...)
	if got := told(); got != "READY=1" {
		t.Errorf("the manager is told %q", got)
	}
	m.must(t, nil, "fringework", "ready", "--wait", "1m", "--listen", strings.TrimPrefix(s.url, "http://"))
	if code, said := m.run(t, nil, "fringework", "ready", "--listen", "nowhere"); code != 1 || !strings.Contains(said, "is no address to ask at") {
		t.Errorf("asking nowhere gives %d and says %q", code, said)
	}
	s.stop(t)
	if got := told(); got != "STOPPING=1" {
		t.Errorf("the manager is told %q", got)
	}
}

// Every command of the program that the guide names is one, with these flags.
func TestGuideNamesTheProgramsCommands(t *testing.T) {
	m := here(t)
	text := read(t, deploy+"OPERATING.md")
	var code []string
	for _, block := range shellBlock.FindAllStringSubmatch(text, -1) {
		code = append(code, strings.Split(block[1], "\n")...)
	}
	for _, inline := range regexp.MustCompile("`([^`\n]+)`").FindAllStringSubmatch(outsideBlocks(text), -1) {
		code = append(code, inline[1])
	}
	helped := map[string]string{}
	for _, line := range code {
		_, after, _ := strings.Cut(line, "sudo -u fringework ")
		words := strings.Fields(cmp.Or(after, line))
		if len(words) < 2 || words[0] != "fringework" {
			continue
		}
		command := words[:2]
		if words[1] == "admin" {
			command = words[:3]
			if words[2] == "keys" {
				command = words[:4]
			}
		}
		name := strings.Join(command, " ")
		if helped[name] == "" {
			helped[name] = m.must(t, nil, append(slices.Clone(command), "--help")...)
		}
		for _, word := range words {
			if strings.HasPrefix(word, "--") && !strings.Contains(helped[name], word) {
				t.Errorf("the guide says %s; there is no %s", line, word)
			}
		}
	}
	for _, name := range []string{"fringework backup", "fringework restore", "fringework rebuild", "fringework migrate", "fringework admin keys rotate", "fringework admin second-factor"} {
		if helped[name] == "" {
			t.Errorf("the guide does not name %s", name)
		}
	}
}
