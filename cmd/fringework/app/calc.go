package app

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"fringework/api"
	"fringework/api/calc"
)

type calcCmd struct {
	Name string `arg:"" optional:"" help:"The calculation. Leave it out to list them."`
	Each bool   `help:"Read one JSON value per line and write one answer per line; an error is a problem document with its status."`
}

// Help is printed under the command's own --help.
func (calcCmd) Help() string {
	return `Reads JSON from the standard input and writes JSON to the standard output, as
POST /v1/calc/NAME does. Lengths are in metres unless the name says feet, probabilities from 0 to 1.

  echo '{"minutes":45,"shares":[20,35,15,30]}' | fringework calc split`
}

// errCalc says that the answer was a problem document.
var errCalc = errors.New("the input was refused; the answer says what to correct")

// Run answers.
func (c calcCmd) Run(s *session) error {
	if c.Name == "" {
		for _, x := range calc.All() {
			fmt.Fprintf(s.Out, "%s\n    %s\n    %s\n", x.Name, x.About, x.Example)
		}
		return nil
	}
	if !c.Each {
		in, err := io.ReadAll(io.LimitReader(s.In, maxInput+1))
		if err != nil {
			return err
		}
		return c.answer(s.ctx, s.Out, in)
	}
	return c.lines(s)
}

// fromStandardInput says so to whoever gives calc its JSON as an argument; "" to others.
func fromStandardInput(args []string) string {
	at := slices.Index(args, "calc") // flags may come before it
	if at < 0 || len(args) < at+3 || !strings.HasPrefix(strings.TrimSpace(args[at+2]), "{") {
		return ""
	}
	for _, x := range calc.All() {
		if x.Name == args[at+1] {
			return fmt.Sprintf("calc reads its JSON from the standard input, not as an argument. For example:\n  echo '%s' | fringework calc %s", x.Example, x.Name)
		}
	}
	return ""
}

// maxInput bounds one input, as the API bounds a body.
const maxInput = 8 << 20

// lines answers every line; a refusal is an answer like any other.
func (c calcCmd) lines(s *session) error {
	out := bufio.NewWriter(s.Out)
	in := bufio.NewScanner(s.In)
	in.Buffer(make([]byte, 64<<10), maxInput)
	for in.Scan() {
		if strings.TrimSpace(in.Text()) == "" {
			continue
		}
		if err := c.answer(s.ctx, out, in.Bytes()); err != nil && !errors.Is(err, errCalc) {
			return err
		}
		if err := out.Flush(); err != nil {
			return err
		}
	}
	return in.Err()
}

// answer writes one answer as one line; a refusal is a problem document, and
// errCalc is returned as well.
func (c calcCmd) answer(ctx context.Context, w io.Writer, in []byte) error {
	answer, refused := calc.Run(ctx, c.Name, in)
	if refused != nil {
		answer = api.ProblemOf(refused)
	}
	var line bytes.Buffer
	enc := json.NewEncoder(&line)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(answer); err != nil {
		return err
	}
	if _, err := w.Write(line.Bytes()); err != nil {
		return err
	}
	if refused != nil {
		return errCalc
	}
	return nil
}
