package main

import (
	"strings"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/document"
)

// jsonFlag lets a command print as JSON. With it a fault is told on the messages as ever, and on the output as JSON too.
func jsonFlag(cmd *cobra.Command, asJSON *bool) {
	cmd.Flags().BoolVar(asJSON, "json", false, "print as JSON instead of text")
}

// asksJSON tells from the arguments as typed whether JSON is wanted: a command line that cannot be used was not read to
// its end.
func asksJSON(args []string) bool {
	for _, a := range args {
		switch {
		case a == "--":
			return false
		case a == "--json" || a == "--json=true":
			return true
		}
	}
	return false
}

// faultsJSON writes faults in the one form they have in every command.
func faultsJSON(c *console, faults document.Faults) error {
	return deliver.Encode(c.out, struct{ Faults document.Faults }{faults})
}

// asFault is an error that is not about a place in a file.
func asFault(err error, hint string) document.Faults {
	return document.Faults{{What: strings.TrimSuffix(err.Error(), "."), Hint: hint}}
}
