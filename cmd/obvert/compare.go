package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/document"
	"obvert/engine/sealing"
	"obvert/physics/valve"
	"obvert/quantity"
	"obvert/study"
)

func compareCommand(c *console) *cobra.Command {
	var from stock
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "compare LINE [VALVE…]",
		Short: "Work the same line with each type of valve at every place",
		Long: `Compare works the same line through once for each type named, with that type at
every place, and puts the answers side by side. With no type named it takes all
those on the line's rack.

Exit status 1 means that with every type a finding fails.`,
		Example: `  obvert compare demo/ridge
  obvert compare demo/ridge "Alder 80" "Cedar 80"
  obvert compare mylines/north --rack myrack --json`,
		Args: func(cmd *cobra.Command, args []string) error {
			return exactly("LINE, the line's folder,")(cmd, args[:min(1, len(args))])
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return compare(cmd.Context(), c, from, args[0], args[1:], asJSON)
		},
	}
	from.flags(cmd)
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the results as JSON instead of text")
	return cmd
}

func compare(ctx context.Context, c *console, from stock, path string, names []string, asJSON bool) error {
	src, err := from.load(path)
	if err != nil {
		return err
	}
	records, err := onRack(src.Line.Rack, names)
	if err != nil {
		return err
	}
	p := newProgress(c)
	all, err := study.Compare(ctx, src, records, study.Options{Version: version, Progress: p.step})
	p.end()
	if err != nil {
		return noAnswer(path, err)
	}
	if asJSON {
		err = compareJSON(c, records, all)
	} else {
		c.lineHead(src.Line)
		c.faults(src.Faults, false)
		c.line()
		c.compared(records, all)
	}
	if err != nil {
		return err
	}
	for _, r := range all {
		if !r.Failed() {
			return nil
		}
	}
	return errFails
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

// compared writes a row for each type.
func (c *console) compared(records []string, all []*study.Result) {
	if len(all) == 0 {
		return
	}
	t := table{head: []string{"type at every place", "shuts, m", "lets go, m", "leak a day", "findings"}}
	for i, r := range all {
		row := []string{records[i], "–", "–"}
		for k := range r.Line.Rack {
			if v := &r.Line.Rack[k]; v.Name == records[i] {
				row[1] = thresholdText(v.Sealing, r.Line.Site.Density, r.Line.Site.Gravity)
				row[2] = thresholdText(v.LettingGo, r.Line.Site.Density, r.Line.Site.Gravity)
			}
		}
		t.rows = append(t.rows, append(row, leakText(r.Rests), failText(r.Findings)))
	}
	t.print(c)
	c.line(wrap("Heads at the seat in metres of the line's water; ± is the expanded uncertainty of the valve's mean (95 %). "+
		"The leak is that of the standing case that leaks most.", c.width, 0))
	c.comparedCases(records, all)
}

// comparedCases writes how many valves are in which state, by type and case.
func (c *console) comparedCases(records []string, all []*study.Result) {
	const cell = 12 // columns of a case and its gutter
	cases := all[0].Line.Cases
	side := max(1, (c.width-16)/cell)
	for from := 0; from < len(cases); from += side {
		to := min(from+side, len(cases))
		t := table{head: []string{"type"}}
		for _, lc := range cases[from:to] {
			t.head = append(t.head, lc.Name)
		}
		for i, r := range all {
			row := []string{records[i]}
			for k := from; k < to; k++ {
				row = append(row, tally(r.Sealing.Valves, k))
			}
			t.rows = append(t.rows, row)
		}
		c.line()
		t.print(c)
	}
}

// tally counts the states of all valves in a case: "3 tight, 2 drip".
func tally(valves []sealing.ValveResult, k int) string {
	n := map[sealing.State]int{}
	for i := range valves {
		n[valves[i].Cells[k].State]++
	}
	var parts []string
	for s := sealing.Tight; s <= sealing.Unrated; s++ {
		if n[s] > 0 {
			word := s.String()
			if s == sealing.Drips && n[s] > 1 {
				word = strings.TrimSuffix(word, "s")
			}
			parts = append(parts, fmt.Sprintf("%d\u00a0%s", n[s], word))
		}
	}
	if len(parts) == 0 {
		return "–"
	}
	return strings.Join(parts, ", ")
}

// leakText is the leak of the standing case that leaks most.
func leakText(rests []study.Rest) string {
	byCase, unknown := map[int]float64{}, false
	for _, r := range rests {
		byCase[r.Case] += r.PerDay
		unknown = unknown || !r.Known
	}
	most := 0.0
	for _, v := range byCase {
		most = max(most, v)
	}
	const least = 0.005 // m³, the least that two decimals show
	if unknown && most < least {
		return "not known"
	}
	text := quantity.Format(most, "m³", 2)
	switch {
	case most == 0:
		return "none"
	case most < least:
		text = "below " + quantity.Format(2*least, "m³", 2)
	}
	if unknown {
		text += " or more"
	}
	return text
}

func failText(findings []study.Finding) string {
	n := map[study.Severity]int{}
	for _, f := range findings {
		n[f.Severity]++
	}
	var parts []string
	for s := study.Fails; s <= study.Doubtful; s++ {
		if n[s] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[s], severityVerb(s, n[s])))
		}
	}
	if len(parts) == 0 {
		return "none"
	}
	return strings.Join(parts, ", ")
}

// compareJSON writes one result after another under the type's name.
func compareJSON(c *console, records []string, all []*study.Result) error {
	type entry struct {
		Valve  string          `json:"valve"`
		Result json.RawMessage `json:"result"`
	}
	out := make([]entry, 0, len(all))
	for i, r := range all {
		var b bytes.Buffer
		if err := deliver.JSON(&b, r); err != nil {
			return err
		}
		out = append(out, entry{records[i], b.Bytes()})
	}
	e := json.NewEncoder(c.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(map[string]any{"compared": out})
}
