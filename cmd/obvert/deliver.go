package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/study"
)

// deliverFlags are the flags of deliver.
type deliverFlags struct {
	from stock
	out  string
	date string
	only []string
	a3   bool
	json bool
	mild bool
}

func deliverCommand(c *console) *cobra.Command {
	var f deliverFlags
	cmd := &cobra.Command{
		Use:   "deliver LINE",
		Short: "Write everything that is handed over for a line",
		Long: wrap(`Deliver works a line through as study does and writes the whole set that is handed over into the folder named with --out: `+list(deliver.FileNames())+
			`. The contents page lists every file with what it is for and its SHA-256, and carries the stamp: hash of the inputs, version of the line, Obvert's version, the date given, what was assumed, and a blank for the engineer who checks.`, usualWidth, 0) + `

All files are made before the first is written, each is written whole or not at
all, and the same input gives the same bytes. The date is the one given with
--date or in the line's document, never the clock's.

` + wrap(`With --only a part of the set is written: kinds (`+strings.Join(deliver.Kinds(), ", ")+`) or names of files, parted by commas.`, usualWidth, 0) + `

Exit status 1 means that a finding fails; with --no-fail it is 0 then.`,
		Example: `  obvert deliver demo/ridge --out handed --date 2026-11-25
  obvert deliver demo/ridge --out handed --only schedule,report.html
  obvert deliver demo/ridge --out handed --json`,
		Args: exactly("LINE, the line's folder,"),
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), c, args[0]) },
	}
	f.from.flags(cmd)
	cmd.Flags().StringVarP(&f.out, "out", "o", "", "write the set into this `folder`; it must be given")
	cmd.Flags().StringVar(&f.date, "date", "", "`date` on every file, 2026-11-25; else the document's")
	cmd.Flags().StringSliceVar(&f.only, "only", nil, "write these `kinds` or files only")
	cmd.Flags().BoolVar(&f.a3, "a3", false, "lay the report's drawings out for A3 instead of A4")
	jsonFlag(cmd, &f.json)
	_ = cmd.RegisterFlagCompletionFunc("only", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return deliver.Kinds(), cobra.ShellCompDirectiveNoFileComp
	})
	cmd.Flags().BoolVar(&f.mild, "no-fail", false, "exit with 0 even where a finding fails")
	return cmd
}

func (f *deliverFlags) run(ctx context.Context, c *console, path string) error {
	if err := mayWrite(f.out); err != nil {
		return err
	}
	if err := dateFlag(f.date); err != nil {
		return err
	}
	if err := deliver.Chosen(f.only); err != nil {
		return usageError{err}
	}
	src, err := f.from.load(path)
	if err != nil {
		return err
	}
	if f.json {
		_ = src.Faults.Render(c.err, c.width) // remarks, beside the list
	}
	p := newProgress(c)
	r, err := study.Solve(ctx, src, study.Options{Version: version, Progress: p.step})
	p.end()
	if err != nil {
		return noAnswer(path, err)
	}
	o := deliver.Options{Date: f.date, A3: f.a3}
	files, err := deliver.Set(ctx, r, o, f.only)
	if err != nil {
		return err
	}
	var outputs []output
	for _, file := range files {
		outputs = append(outputs, output{file.Name, file.Data})
	}
	if err := writeAll(f.out, outputs); err != nil {
		return err
	}
	if f.json {
		err = deliver.Encode(c.out, newManifest(r, o, files))
	} else {
		c.lineHead(src.Line)
		c.faults(src.Faults, false)
		c.line()
		for _, s := range r.Answer {
			c.line(wrap(strings.TrimSpace(s.Lead+" "+s.Rest), c.width, 2))
		}
		c.line()
		c.line("Written into ", filepath.ToSlash(f.out), ":")
		c.written(files)
	}
	if err != nil {
		return err
	}
	if r.Failed() && !f.mild {
		return errFails
	}
	return nil
}

// written lists the files with what each is for.
func (c *console) written(files []deliver.File) {
	widest := 0
	for _, f := range files {
		widest = max(widest, len(f.Name))
	}
	room := max(c.width-widest-4, leastWidth/2)
	for _, f := range files {
		name := f.Name
		for _, text := range wrapLines(f.For, room, room) {
			c.line("  ", name, strings.Repeat(" ", widest-len(name)+2), text)
			name = ""
		}
	}
}

// manifest is the list of files for machines.
type manifest struct {
	Line    string
	Version string // of the line
	Date    string
	Hash    string // of the inputs
	Program string
	Fails   bool // a finding fails
	Files   []manifestFile
}

type manifestFile struct {
	Name   string
	For    string
	Bytes  int
	SHA256 string
}

func newManifest(r *study.Result, o deliver.Options, files []deliver.File) manifest {
	s := deliver.NewStamp(r, o)
	m := manifest{Line: s.Line, Version: s.Version, Date: s.Date, Hash: s.Hash, Program: fmt.Sprint("obvert ", s.Program), Fails: r.Failed()}
	for _, f := range files {
		m.Files = append(m.Files, manifestFile{f.Name, f.For, len(f.Data), f.SHA256})
	}
	return m
}
