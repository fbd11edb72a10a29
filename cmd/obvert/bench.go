package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"obvert/bench"
	"obvert/deliver"
	"obvert/document"
	"obvert/physics/valve"
	"obvert/quantity"
	"obvert/study"
)

func benchCommand(c *console) *cobra.Command {
	var to string
	var asJSON, budget bool
	cmd := &cobra.Command{
		Use:   "bench RUN",
		Short: "Reduce a sealing run to what each valve does",
		Long: `Bench reads a sealing run, the document with its series beside it, and gives
sealing head, letting-go head, hysteresis and leak curve of every valve on the
manifold, with their uncertainties, and what could not be known.

With --to each valve becomes a record in that folder. A record of the same name
keeps what a bench cannot know (orifices, rating, connection, price); comments
in its file are not kept.`,
		Example: `  obvert bench demo/bench/run-1.toml
  obvert bench demo/bench/run-1.toml --budget
  obvert bench demo/bench/run-1.toml --to rack`,
		Args: exactly("RUN, the run's document,"),
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return []string{"toml"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("to") {
				if err := mayWrite(to); err != nil {
					return err
				}
			}
			r, faults, err := loadRun(args[0])
			if err != nil {
				return err
			}
			var written []string
			if to != "" {
				if written, err = keep(to, bench.Records(r)); err != nil {
					return err
				}
			}
			if asJSON {
				_ = faults.Render(c.err, c.width)
				return deliver.Encode(c.out, r)
			}
			c.run(&r, faults, budget)
			if len(written) > 0 {
				c.line()
				c.line(wrap("Written: "+list(written), c.width, 4))
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&to, "to", "", "write a record of each valve into this `rack`")
	cmd.Flags().BoolVar(&budget, "budget", false, "show every line of the uncertainty budgets")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// loadRun reads and reduces a run by the path of its document.
func loadRun(path string) (bench.Result, document.Faults, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return bench.Result{}, nil, one(path, "there is nothing of this name", "a run is a document, .toml, with its series beside it. Check the spelling")
	case err != nil:
		return bench.Result{}, nil, one(path, "cannot be read: "+reason(err), "check the path")
	case info.IsDir():
		return bench.Result{}, nil, one(path, "is a folder, not a run", "name the run's document inside it")
	}
	dir, name := filepath.Split(filepath.Clean(path))
	if dir == "" {
		dir = "."
	}
	folder, done, err := openFolder(dir, "a run is a document, .toml, with its series beside it")
	if err != nil {
		return bench.Result{}, nil, err
	}
	defer done()
	r, faults := study.LoadBench(folder, name)
	faults = within(dir, faults)
	return r, faults, faults.Err()
}

// keep writes records into a rack's folder and returns the names of the files.
func keep(dir string, records []valve.Record) ([]string, error) {
	if len(records) == 0 {
		return nil, errors.New("the run gives no valve a record")
	}
	old := map[string]valve.Record{}
	if info, err := os.Stat(dir); err == nil && info.IsDir() {
		there, faults := loadRack(dir)
		if err := faults.Err(); err != nil {
			return nil, err
		}
		for _, r := range there {
			old[r.Name] = r
		}
	}
	taken := map[string]bool{}
	for _, r := range old {
		taken[filepath.Base(r.Source)] = true
	}
	var files []output
	var names []string
	for _, r := range records {
		name := fileName(r.Name)
		if before, ok := old[r.Name]; ok {
			name = filepath.Base(before.Source)
			r = before.WithMeasured(r)
		} else if name = free(name, taken); name != "" {
			taken[name] = true
		}
		files = append(files, output{name, valve.Format(r)})
		names = append(names, filepath.ToSlash(filepath.Join(dir, name)))
	}
	return names, writeAll(dir, files)
}

// free is a file name that no other record has.
func free(name string, taken map[string]bool) string {
	stem, try := strings.TrimSuffix(name, ".toml"), name
	for n := 2; taken[try]; n++ {
		try = fmt.Sprintf("%s-%d.toml", stem, n)
	}
	return try
}

// run writes a reduced run.
func (c *console) run(r *bench.Result, faults document.Faults, budget bool) {
	c.line(c.paint(strong, r.Name))
	head := []string{r.Date}
	for _, s := range []string{r.Operator, r.Bench} {
		if s != "" {
			head = append(head, s)
		}
	}
	head = append(head, "water "+quantity.Format(r.WaterTemperature-273.15, "1", 1)+"\u00a0°C, "+quantity.Format(r.Density, "kg/m³", 1),
		"g "+quantity.Format(r.Gravity, "m/s²", 4))
	if r.TightMeans != "" {
		head = append(head, "tight means "+r.TightMeans)
	}
	c.line(wrap(strings.Join(head, " · "), c.width, 0))
	c.faults(faults, true)
	c.line()
	t := table{head: []string{"valve", "shuts, m", "lets go, m", "between, m", "repeats", "leaks most"}}
	for i := range r.Valves {
		v := &r.Valves[i]
		between := "–"
		if v.HasHysteresis {
			between = quantity.Number(v.Hysteresis/(r.Density*r.Gravity), 2)
		}
		t.rows = append(t.rows, []string{v.Name, thresholdText(v.Sealing, r.Density, r.Gravity), thresholdText(v.LettingGo, r.Density, r.Gravity),
			between, fmt.Sprint(v.Sealing.Repeats), mostLeak(v.Leak)})
	}
	t.print(c)
	c.line(wrap("Heads at each valve's seat, in metres of the bench's water; ± is the expanded uncertainty of the valve's mean (95 %).", c.width, 0))
	c.line()
	for i := range r.Valves {
		if v := &r.Valves[i]; v.Statement != "" {
			c.line(wrap(v.Name+": "+v.Statement, c.width, 4))
		}
	}
	c.unused(r)
	for _, f := range r.Findings {
		c.line()
		c.line(wrap(f.Where+": "+f.Text, c.width, 4))
	}
	if budget {
		c.budgets(r)
	}
}

// mostLeak is the largest leak of a curve.
func mostLeak(curve []valve.LeakPoint) string {
	most := 0.0
	for _, p := range curve {
		most = max(most, p.Flow)
	}
	if len(curve) == 0 {
		return "–"
	}
	return quantity.Format(most, "L/min", 2)
}

// unused writes the changes that were seen and left out, with their reasons. A look
// that others bound more closely is no loss.
func (c *console) unused(r *bench.Result) {
	for i := range r.Valves {
		for _, m := range r.Valves[i].Marks {
			if m.Kind == bench.Change && !m.Used && m.Why != "" {
				c.line(wrap(fmt.Sprintf("%s: the mark at %s was not used: %s", r.Valves[i].Name, quantity.Format(m.Time, "s", 0), m.Why), c.width, 4))
			}
		}
	}
}

// budgets writes every uncertainty budget.
func (c *console) budgets(r *bench.Result) {
	for i := range r.Valves {
		v := &r.Valves[i]
		for _, b := range []struct {
			what  string
			lines []bench.BudgetLine
		}{{"sealing pressure", v.SealingBudget}, {"letting-go pressure", v.LettingGoBudget}} {
			if len(b.lines) == 0 {
				continue
			}
			c.line()
			c.line(c.paint(strong, v.Name+", "+b.what))
			t := table{head: []string{"u(p), Pa", "from"}}
			for _, l := range b.lines {
				freedom := ""
				if l.Freedom > 0 {
					freedom = ", ν = " + quantity.Number(l.Freedom, 0)
				}
				t.rows = append(t.rows, []string{quantity.Number(l.Contribution, 1), fmt.Sprintf("%s: %s\u00a0%s, u = %s\u00a0%s, %s%s; %s",
					l.Quantity, plain(l.Value), l.Unit, plain(l.Uncertainty), l.Unit, l.Distribution, freedom, l.Source)})
			}
			t.print(c)
		}
	}
}

// plain is a figure with four significant digits.
func plain(v float64) string { return strings.ReplaceAll(fmt.Sprintf("%.4g", v), "-", "−") }
