package api

import (
	"encoding/json"
	"errors"
	"mime"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// Media types of a programme document.
const (
	mimeYAML = "application/yaml"
	mimeJSON = echo.MIMEApplicationJSON
)

// encodeDocument writes a document as YAML or JSON.
func encodeDocument(d ProgrammeDocument, mediaType string) ([]byte, error) {
	body, err := json.MarshalIndent(d, "", "  ")
	if err != nil || mediaType == mimeJSON {
		return append(body, '\n'), err
	}
	return yamlOfJSON(body)
}

// decodeDocument reads a document written as YAML or JSON. lines is nil for
// JSON.
func decodeDocument(body []byte, mediaType string) (d ProgrammeDocument, lines yamlLines, err error) {
	if mediaType != mimeJSON {
		if body, lines, err = jsonOfYAML(body); err != nil {
			return d, nil, err
		}
	}
	err = decodeBytes(body, &d)
	var re *requestError
	if lines != nil && errors.As(err, &re) {
		for i, f := range re.fields {
			re.fields[i].Detail = lines.detail(f.Pointer, f.Detail)
			if strings.HasSuffix(f.Detail, "a string is expected") {
				re.fields[i].Detail += "; put it in quotes"
			}
		}
	}
	return d, lines, err
}

// documentError points what the domain says of a programme at the document.
func documentError(err error, lines yamlLines) error {
	var de *domain.Error
	if !errors.As(err, &de) || de.Kind != domain.Invalid {
		return err
	}
	out := *de
	out.Fields = slices.Clone(de.Fields)
	for i, f := range out.Fields {
		pointer := documentPointer(f.Pointer)
		out.Fields[i] = domain.Field{Pointer: pointer, Detail: lines.detail(pointer, f.Detail)}
	}
	return &out
}

// importProgramme keeps a programme that came as a document.
//
//	@Summary		Import a programme document
//	@Description	Creates a programme from a document in the form that export writes; the JSON Schema is at /programme.schema.json. A skill with the same name, kind and ladder as one of the academy's is matched to it; any other is created. Errors in YAML name the line.
//	@ID				importProgramme
//	@Tags			Programmes
//	@Accept			json,application/yaml
//	@Produce		json
//	@Param			document	body		ProgrammeDocument	true	"The document"
//	@Success		201			{object}	Programme
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/programmes/import [post]
func (s *Server) importProgramme(c echo.Context) error {
	mediaType, err := documentType(c.Request().Header.Get(echo.HeaderContentType))
	if err != nil {
		return err
	}
	body, err := readAll(c.Request())
	if err != nil {
		return err
	}
	d, lines, err := decodeDocument(body, mediaType)
	if err != nil {
		return err
	}
	content, skills, err := d.read()
	if err != nil {
		return documentError(err, lines)
	}
	p, err := s.Curriculum.Import(c.Request().Context(), actor(c), content, skills)
	if err != nil {
		return documentError(err, lines)
	}
	return s.answerProgramme(c, http.StatusCreated, p.ID)
}

// documentType reads the Content-Type of a document.
func documentType(header string) (string, error) {
	t, _, err := mime.ParseMediaType(header)
	if err != nil || t != mimeJSON && t != mimeYAML {
		return "", &requestError{status: http.StatusUnsupportedMediaType, code: "media_type", detail: "Send the document as application/yaml or application/json."}
	}
	return t, nil
}

// exportProgramme writes a programme as a document.
//
//	@Summary		Export a programme as a document
//	@Description	The draft, or the published version you ask for, with the skills it trains. Importing the document makes the same programme. YAML unless Accept prefers JSON.
//	@ID				exportProgramme
//	@Tags			Programmes
//	@Produce		json,application/yaml
//	@Param			programme_id	path		string	true	"The programme"	format(uuid)
//	@Param			version			query		int		false	"A published version instead of the draft"	minimum(1)
//	@Success		200				{object}	ProgrammeDocument
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,406,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/programmes/{programme_id}/document [get]
func (s *Server) exportProgramme(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	q := newQuery(c)
	version := q.number("version", 1, maxRevision, 0)
	if err := q.done(); err != nil {
		return err
	}
	mediaType := accepted(c.Request().Header.Values(echo.HeaderAccept), mimeYAML, mimeJSON)
	if mediaType == "" {
		return &requestError{status: http.StatusNotAcceptable, code: "not_acceptable", detail: "Documents are application/yaml or application/json; name one of them in Accept."}
	}
	content, skills, err := s.documentParts(c, id, version)
	if err != nil {
		return err
	}
	body, err := encodeDocument(documentOf(content, skills), mediaType)
	if err != nil {
		return err
	}
	h := c.Response().Header()
	h.Add(echo.HeaderVary, echo.HeaderAccept)
	h.Set(echo.HeaderContentDisposition, `attachment; filename="`+slug(content.Name, "programme")+"."+strings.TrimPrefix(mediaType, "application/")+`"`)
	tag := entityTag(0, body)
	h.Set("ETag", tag)
	if matches(c.Request().Header.Get("If-None-Match"), tag) {
		return c.NoContent(http.StatusNotModified)
	}
	return c.Blob(http.StatusOK, mediaType, body)
}

// documentParts reads the draft or a version, and its skills.
func (s *Server) documentParts(c echo.Context, id domain.ID, version int) (curriculum.Content, map[domain.ID]curriculum.Skill, error) {
	if version == 0 {
		return s.Curriculum.Draft(c.Request().Context(), actor(c), id)
	}
	v, err := s.Curriculum.Version(c.Request().Context(), actor(c), id, version)
	if err != nil {
		return curriculum.Content{}, nil, err
	}
	skills := map[domain.ID]curriculum.Skill{}
	for _, skill := range v.Skills {
		skills[skill.ID] = skill
	}
	return v.Content, skills, nil
}

// accepted chooses among media types, ours in order of liking, by an Accept
// header (RFC 9110 §12.5.1); the first without one, empty when none will do.
func accepted(header []string, offers ...string) string {
	ranges := strings.Join(header, ",")
	if strings.TrimSpace(ranges) == "" {
		return offers[0]
	}
	best, bestQuality := "", 0.0
	for _, offer := range offers {
		if q := quality(ranges, offer); q > bestQuality {
			best, bestQuality = offer, q
		}
	}
	return best
}

// quality is the weight that the most exact matching range of an Accept header
// gives a media type; 0 when none matches.
func quality(ranges, offer string) float64 {
	kind, _, _ := strings.Cut(offer, "/")
	exactness, weight := 0, 0.0
	for part := range strings.SplitSeq(ranges, ",") {
		t, params, err := mime.ParseMediaType(strings.TrimSpace(part))
		if err != nil {
			continue
		}
		exact := slices.Index([]string{"*/*", kind + "/*", offer}, t) + 1
		if exact <= exactness {
			continue
		}
		exactness, weight = exact, 1
		if text, given := params["q"]; given {
			if weight, err = strconv.ParseFloat(text, 64); err != nil {
				weight = 0
			}
		}
	}
	return weight
}
