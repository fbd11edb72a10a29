package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/document"
	"obvert/physics/valve"
	"obvert/quantity"
	"obvert/study"
)

// The names of the files that a comparison hands over.
const (
	comparePageName = "compare.html"
	comparePDFName  = "compare.pdf"
	compareJSONName = "compare.json"
	compareCSVName  = "compare.csv"
)

// compareFlags are the flags of compare.
type compareFlags struct {
	from stock
	out  string
	date string
	json bool
	a3   bool
}

func compareCommand(c *console) *cobra.Command {
	var f compareFlags
	cmd := &cobra.Command{
		Use:   "compare LINE [VALVE…]",
		Short: "Work the same line with each type of valve at every place",
		Long: fmt.Sprintf(`Compare works the same line through once for each type named, with that type at
every place, and puts the answers side by side: what drips, leaks and drains,
what the restart does, what holding shut and keeping each costs, and which types
cannot be told apart within their uncertainty. It takes %d to %d types; with none
named, all those on the line's rack.

With --out one page (`+comparePageName+`, `+comparePDFName+`) and the same for machines
(`+compareJSONName+`, `+compareCSVName+`) are written there, each whole or not at all.
The same input gives the same bytes.

Exit status 1 means that with every type a finding fails.`, study.LeastCompared, study.MostCompared),
		Example: `  obvert compare demo/ridge
  obvert compare demo/ridge "Alder 80" "Cedar 80" --out out
  obvert compare mylines/north --rack myrack --json`,
		Args: func(cmd *cobra.Command, args []string) error {
			return exactly("LINE, the line's folder,")(cmd, args[:min(1, len(args))])
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("out") {
				if err := mayWrite(f.out); err != nil {
					return err
				}
			}
			return f.run(cmd.Context(), c, args[0], args[1:])
		},
	}
	f.from.flags(cmd)
	cmd.Flags().StringVarP(&f.out, "out", "o", "", "write the comparison into this `folder`")
	cmd.Flags().StringVar(&f.date, "date", "", "`date` on the page, 2026-11-25; else the document's")
	cmd.Flags().BoolVar(&f.a3, "a3", false, "lay the page out for A3 instead of A4")
	cmd.Flags().BoolVar(&f.json, "json", false, "print the comparison as JSON instead of text")
	return cmd
}

func (f *compareFlags) run(ctx context.Context, c *console, path string, names []string) error {
	if f.out == "" && (f.date != "" || f.a3) {
		return usageError{errors.New("--date and --a3 are for the page: name a folder for it with --out")}
	}
	if err := dateFlag(f.date); err != nil {
		return err
	}
	src, err := f.from.load(path)
	if err != nil {
		return err
	}
	records, err := onRack(src.Line.Rack, names)
	if err == nil {
		err = howMany(records, len(names) > 0).Err()
	}
	if err != nil {
		return err
	}
	p := newProgress(c)
	all, err := study.Compare(ctx, src, records, study.Options{Version: version, Progress: p.step})
	p.end()
	if err != nil {
		return noAnswer(path, err)
	}
	if f.out != "" {
		if err := f.deliver(ctx, all); err != nil {
			return err
		}
	}
	if f.json {
		if err := deliver.CompareJSON(c.out, all); err != nil {
			return err
		}
	} else {
		c.lineHead(src.Line)
		c.faults(src.Faults, false)
		c.compared(all)
		if f.out != "" {
			c.line()
			c.line("Written: ", filepath.ToSlash(filepath.Join(f.out, comparePageName)), ", ", comparePDFName, ", ", compareJSONName, ", ", compareCSVName)
		}
	}
	for _, r := range all.Results() {
		if !r.Failed() {
			return nil
		}
	}
	return errFails
}

// deliver makes the files in memory and writes them when all are there.
func (f *compareFlags) deliver(ctx context.Context, all *study.Comparison) error {
	var page, paper, result, figures bytes.Buffer
	o := deliver.Options{Date: f.date, A3: f.a3}
	if err := deliver.CompareHTML(&page, all, o); err != nil {
		return err
	}
	if err := deliver.ComparePDF(&paper, all, o); err != nil {
		return err
	}
	if err := deliver.CompareJSON(&result, all); err != nil {
		return err
	}
	if err := deliver.CompareCSV(&figures, all); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return writeAll(f.out, []output{{comparePageName, page.Bytes()}, {comparePDFName, paper.Bytes()}, {compareJSONName, result.Bytes()}, {compareCSVName, figures.Bytes()}})
}

// onRack checks that each type named stands on the rack; all of them where none is named.
func onRack(rack []valve.Record, names []string) ([]string, error) {
	known := make([]string, len(rack))
	for i := range rack {
		known[i] = rack[i].Name
	}
	if len(known) == 0 {
		return nil, document.Faults{{What: "there is no valve on the rack", Hint: "put records into the line's folder rack, or name a folder of them with --rack"}}
	}
	if len(names) == 0 {
		return known, nil
	}
	var faults document.Faults
	seen := map[string]bool{}
	var out []string
	for _, n := range names {
		found, ok := named(n, known)
		if !ok {
			faults = append(faults, noSuchValve(n, known))
			continue
		}
		if !seen[found] {
			seen[found] = true
			out = append(out, found)
		}
	}
	return out, faults.Err()
}

// howMany refuses too few and too many types.
func howMany(types []string, named bool) document.Faults {
	f := document.Fault{Hint: fmt.Sprintf("name %d to %d after the line's folder", study.LeastCompared, study.MostCompared)}
	switch n := len(types); {
	case n == 1 && named:
		f.What, f.Hint = fmt.Sprintf("only %q is named: there is nothing to compare it with", types[0]), "name another type, or none to take all on the rack"
	case n == 1:
		f.What, f.Hint = fmt.Sprintf("the rack holds only %q: there is nothing to compare it with", types[0]), "join others with --rack, or the generic classes with --typical"
	case n > study.MostCompared && named:
		f.What = fmt.Sprintf("%d types are named, one page holds %d", n, study.MostCompared)
	case n > study.MostCompared:
		f.What, f.Understood = fmt.Sprintf("the rack holds %d types, one page holds %d", n, study.MostCompared), list(types)
	default:
		return nil
	}
	return document.Faults{f}
}

// named finds a name, capitals or not, or the only one that begins as typed.
func named(typed string, known []string) (string, bool) {
	typed = strings.ToLower(strings.TrimSpace(typed))
	var begins []string
	for _, k := range known {
		if strings.ToLower(k) == typed {
			return k, true
		}
		if typed != "" && strings.HasPrefix(strings.ToLower(k), typed) {
			begins = append(begins, k)
		}
	}
	if len(begins) == 1 {
		return begins[0], true
	}
	return "", false
}

// noSuchValve is a type that is not on the rack.
func noSuchValve(name string, known []string) document.Fault {
	f := document.Fault{What: fmt.Sprintf("there is no %q on the rack", name), Hint: "there are " + list(known)}
	if near, ok := quantity.Nearest(name, known); ok {
		f.Hint = fmt.Sprintf("did you mean %q?", near)
	}
	return f
}
