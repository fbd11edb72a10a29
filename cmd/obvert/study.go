package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/document"
	"obvert/line"
	"obvert/study"
)

// The names of the files that are handed over.
const (
	reportName   = "report.html"
	resultName   = "result.json"
	scheduleName = "schedule.csv"
)

// flags adds the flags that say which valves stand beside the line's own rack.
func (s *stock) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&s.rack, "rack", "", "folder of valve records, joined to the line's own `rack`")
	cmd.Flags().BoolVar(&s.typical, "typical", false, "join the generic classes too (no particular valves)")
}

func checkCommand(c *console) *cobra.Command {
	var from stock
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check LINE",
		Short: "Read a line and tell every fault, warning and remark",
		Long: `Check reads a line's folder, its profiles, its rack and its bench runs, and
tells every fault at once with file, line and key. Nothing is reckoned, nothing
is written. obvert explain says more of each warning, remark and assumption.`,
		Example: `  obvert check demo/ridge
  obvert check mylines/north --rack myrack`,
		Args: exactly("LINE, the line's folder,"),
		RunE: func(cmd *cobra.Command, args []string) error {
			src, err := from.load(args[0])
			if err != nil {
				return err
			}
			if asJSON {
				return deliver.Encode(c.out, struct {
					Line    string
					Faults  document.Faults
					Assumed []line.Assumption
				}{src.Line.Name, src.Faults, src.Line.Assumed})
			}
			c.lineHead(src.Line)
			c.faults(src.Faults, true)
			c.assumed(src.Line.Assumed)
			c.line()
			c.line("Ready to study.")
			return nil
		},
	}
	from.flags(cmd)
	jsonFlag(cmd, &asJSON)
	return cmd
}

// studyFlags are the flags of study.
type studyFlags struct {
	from stock
	out  string
	date string
	json bool
	mild bool
	a3   bool
}

func studyCommand(c *console) *cobra.Command {
	var f studyFlags
	cmd := &cobra.Command{
		Use:   "study LINE",
		Short: "Judge every valve of a line in every operating case",
		Long: `Study works a line through: grade line and pools of every operating case, where
air valves are wanted, whether each is held drip-tight, what leaks where one is
not, and what sealing head costs. It prints the answer, a table of valve and
case, and the findings, worst first; obvert explain says more of each by its id,
such as sealing.drips.

With --out the report (` + reportName + `), the same content for machines
(` + resultName + `) and the schedule of valves (` + scheduleName + `) are written there, each
whole or not at all. The same input gives the same bytes.

Exit status 1 means that a finding fails; with --no-fail it is 0 then.`,
		Example: `  obvert study demo/ridge
  obvert study demo/ridge --out out --date 2026-11-25
  obvert study demo/ridge --json > ridge.json
  obvert study mylines/north --rack myrack`,
		Args: exactly("LINE, the line's folder,"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("out") {
				if err := mayWrite(f.out); err != nil {
					return err
				}
			}
			return f.run(cmd.Context(), c, args[0])
		},
	}
	f.from.flags(cmd)
	cmd.Flags().StringVarP(&f.out, "out", "o", "", "write report, result and schedule into this `folder`")
	cmd.Flags().StringVar(&f.date, "date", "", "`date` on the report, 2026-11-25; else the document's")
	cmd.Flags().BoolVar(&f.json, "json", false, "print the result as JSON instead of text")
	cmd.Flags().BoolVar(&f.a3, "a3", false, "lay the report's drawings out for A3 instead of A4")
	cmd.Flags().BoolVar(&f.mild, "no-fail", false, "exit with 0 even where a finding fails")
	return cmd
}

func (f *studyFlags) run(ctx context.Context, c *console, path string) error {
	if f.out == "" && (f.date != "" || f.a3) {
		return usageError{errors.New("--date and --a3 are for the report: name a folder for it with --out")}
	}
	if err := dateFlag(f.date); err != nil {
		return err
	}
	src, err := f.from.load(path)
	if err != nil {
		return err
	}
	if f.json {
		_ = src.Faults.Render(c.err, c.width) // remarks, beside the result
	}
	p := newProgress(c)
	r, err := study.Solve(ctx, src, study.Options{Version: version, Progress: p.step})
	p.end()
	if err != nil {
		return noAnswer(path, err)
	}
	if f.out != "" {
		if err := f.deliver(ctx, r); err != nil {
			return err
		}
	}
	if f.json {
		if err := deliver.JSON(c.out, r); err != nil {
			return err
		}
	} else {
		c.study(r, src.Faults)
		if f.out != "" {
			c.line()
			c.line("Written: ", filepath.ToSlash(filepath.Join(f.out, reportName)), ", ", resultName, ", ", scheduleName)
		}
	}
	if r.Failed() && !f.mild {
		return errFails
	}
	return nil
}

// dateFlag refuses a date that is none; an empty one is left to the document.
func dateFlag(date string) error {
	if date == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return usageError{fmt.Errorf("%q is not a date; write it as in 2026-11-25", date)}
	}
	return nil
}

// deliver makes the files in memory and writes them when all are there.
func (f *studyFlags) deliver(ctx context.Context, r *study.Result) error {
	var report, result, schedule bytes.Buffer
	drawn := make(chan error, 1) // drawing cannot be stopped, but left
	go func() { drawn <- deliver.HTML(&report, r, deliver.Options{Date: f.date, A3: f.a3}) }()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case err := <-drawn:
		if err != nil {
			return err
		}
	}
	if err := deliver.JSON(&result, r); err != nil {
		return err
	}
	if err := deliver.ScheduleCSV(&schedule, r); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return writeAll(f.out, []output{
		{reportName, report.Bytes()}, {resultName, result.Bytes()}, {scheduleName, schedule.Bytes()},
	})
}

// noAnswer is an input that reads well and contradicts itself.
func noAnswer(path string, err error) error {
	if faults, ok := err.(document.Faults); ok {
		return within(path, faults)
	}
	return fmt.Errorf("%s has no answer: %w", filepath.ToSlash(path), err)
}
