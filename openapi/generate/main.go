// Command generate writes openapi.json from the comments in package api. It is
// run by go generate, in the folder of package openapi.
package main

import (
	"fmt"
	"os"

	"fringework/openapi/describe"
)

func main() {
	text, err := describe.Generate("..")
	if err == nil {
		err = os.WriteFile("openapi.json", text, 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
