package contract

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// check holds an exchange to the description, and names it when it is of a
// described operation.
func (d *description) check(x exchange) (key string, err error) {
	method := x.request.Method
	if method == http.MethodHead {
		method = http.MethodGet
	}
	o, params := d.find(method, x.request.URL.Path)
	if o == nil {
		return "", d.checkUnknown(x)
	}
	key = o.Operation.OperationID + " " + strconv.Itoa(x.status)
	input := &openapi3filter.RequestValidationInput{
		Request: x.request, PathParams: params, Route: &o.Route, Options: options,
	}
	if err := o.checkResponse(input, x); err != nil {
		return key, err
	}
	if x.status >= 200 && x.status < 300 {
		return key, o.checkRequest(input, x)
	}
	return key, nil
}

// checkUnknown checks an answer to what the description does not have: under
// /v1 that is a problem, elsewhere it is none of ours.
func (d *description) checkUnknown(x exchange) error {
	switch {
	case !strings.HasPrefix(x.request.URL.Path, "/v1/") || x.request.Method == http.MethodOptions:
		return nil
	case x.status < 400:
		return errors.New("the description has no such operation")
	case x.header.Get("Content-Type") != "application/problem+json":
		return fmt.Errorf("media type %q; want a problem document", x.header.Get("Content-Type"))
	}
	return checkJSON(d.problem, x)
}

func (o *operation) checkResponse(input *openapi3filter.RequestValidationInput, x exchange) error {
	err := openapi3filter.ValidateResponse(context.Background(), &openapi3filter.ResponseValidationInput{
		RequestValidationInput: input, Status: x.status, Header: x.header, Options: options,
	})
	if err != nil {
		return err
	}
	status := strconv.Itoa(x.status)
	response := o.Operation.Responses.Value(status)
	if response == nil {
		return errors.New("the description does not have this status")
	}
	if err := checkHeaders(x, response.Value.Headers); err != nil {
		return err
	}
	if len(response.Value.Content) == 0 {
		if len(x.body) > 0 {
			return errors.New("a body where the description has none")
		}
		return nil
	}
	media, _, err := mime.ParseMediaType(x.header.Get("Content-Type"))
	if err != nil {
		return fmt.Errorf("media type %q: %w", x.header.Get("Content-Type"), err)
	}
	schema, documented := o.responses[status+" "+media]
	switch {
	case !documented:
		return fmt.Errorf("media type %s is not one of the description's for this status", media)
	case schema == nil || !isJSON(media) || !x.all || x.request.Method == http.MethodHead:
		return nil
	}
	return checkJSON(schema, x)
}

// checkHeaders wants these headers nowhere but where the description has them.
// That required ones are there, kin-openapi has seen to.
func checkHeaders(x exchange, documented openapi3.Headers) error {
	for _, name := range []string{"ETag", "Location", "WWW-Authenticate", "Retry-After", "Deprecation", "Sunset"} {
		if x.header.Get(name) != "" && documented[name] == nil {
			return fmt.Errorf("header %s, which the description does not have here", name)
		}
	}
	return nil
}

func (o *operation) checkRequest(input *openapi3filter.RequestValidationInput, x exchange) error {
	if err := openapi3filter.ValidateRequest(context.Background(), input); err != nil {
		return fmt.Errorf("took a request that is not as described: %w", err)
	}
	for name := range x.request.URL.Query() {
		if o.Operation.Parameters.GetByInAndName("query", name) == nil {
			return fmt.Errorf("took the query parameter %s, which the description does not have", name)
		}
	}
	if err := o.checkSent(x); err != nil {
		return fmt.Errorf("took a body that is not as described: %w", err)
	}
	return nil
}

func (o *operation) checkSent(x exchange) error {
	body := o.Operation.RequestBody
	switch {
	case body == nil && len(x.sent) == 0, !x.sentAll:
		return nil
	case body == nil:
		return errors.New("there should be none")
	case len(x.sent) == 0 && body.Value.Required:
		return errors.New("there is none")
	case len(x.sent) == 0:
		return nil
	}
	media, _, err := mime.ParseMediaType(x.request.Header.Get("Content-Type"))
	if err != nil {
		return err
	}
	schema, documented := o.requests[media]
	switch {
	case !documented:
		return fmt.Errorf("media type %s is not one of the description's", media)
	case schema == nil:
		return nil
	case isJSON(media):
		return validate(schema, x.sent)
	case media == "application/x-www-form-urlencoded":
		return checkForm(schema, x.sent)
	}
	return nil
}

// isJSON tells a media type that is JSON (RFC 6839 §3.1).
func isJSON(media string) bool {
	return media == "application/json" || strings.HasSuffix(media, "+json")
}

func checkJSON(schema *jsonschema.Schema, x exchange) error {
	if x.request.Method == http.MethodHead {
		return nil
	}
	body, err := x.plain()
	if err != nil {
		return err
	}
	return validate(schema, body)
}

func validate(schema *jsonschema.Schema, body []byte) error {
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		return err
	}
	return schema.Validate(value)
}

func checkForm(schema *jsonschema.Schema, body []byte) error {
	form, err := url.ParseQuery(string(body))
	if err != nil {
		return err
	}
	value := map[string]any{}
	for name, values := range form {
		if slices.Contains(values, "") {
			continue // as if left out, RFC 6749 §3.2
		}
		value[name] = values[0]
	}
	return schema.Validate(value)
}
