package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"obvert/bench"
	"obvert/deliver"
	"obvert/line"
	"obvert/physics/valve"
	"obvert/quantity"
)

// schemas are the documents that have a JSON Schema.
var schemas = []struct {
	name, about string
	text        func() []byte
}{
	{"line", "line.toml, the document of a line", line.Schema},
	{"rack", "a valve's record on the rack", valve.Schema},
	{"bench", "the document of a bench run", bench.Schema},
	{"result", "what study --json prints", deliver.Schema},
}

func schemaCommand(c *console) *cobra.Command {
	var names []string
	var known strings.Builder
	for _, s := range schemas {
		names = append(names, s.name)
		fmt.Fprintf(&known, "  %-8s %s\n", s.name, s.about)
	}
	cmd := &cobra.Command{
		Use:   "schema [" + strings.Join(names, " | ") + "]",
		Short: "Print a JSON Schema, for editors",
		Long: `Schema prints the JSON Schema (2020-12) of a document, so that an editor can
complete its keys and mark what is wrong while it is typed:

` + known.String() + `
Save one beside your lines and name it on the first line of a TOML document,
where editors with a TOML language server look for it:

  #:schema ../line.schema.json

Obvert checks more than a schema can say; obvert check has the last word.`,
		Example: `  obvert schema line > line.schema.json
  obvert schema rack > valve.schema.json`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usageError{fmt.Errorf("say which: %s", strings.Join(names, ", "))}
			}
			return exactly("the schema's name")(cmd, args)
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			var all []string
			for _, s := range schemas {
				all = append(all, s.name+"\t"+s.about)
			}
			return all, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(_ *cobra.Command, args []string) error {
			for _, s := range schemas {
				if s.name == args[0] {
					c.out.Write(s.text())
					return nil
				}
			}
			text := fmt.Sprintf("there is no schema %q; there are %s", args[0], list(names))
			if near, ok := quantity.Nearest(args[0], names); ok {
				text = fmt.Sprintf("there is no schema %q; did you mean %s?", args[0], near)
			}
			return usageError{fmt.Errorf("%s", text)}
		},
	}
	return cmd
}
