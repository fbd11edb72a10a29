package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/document"
	"obvert/line"
	"obvert/physics/pipe"
	"obvert/physics/valve"
	"obvert/quantity"
	"obvert/survey"
)

// newFlags are the flags of new. What it shares with import it takes from there.
type newFlags struct {
	importFlags
	profile string
	length  string
	levels  string
	valve   string
	bore    float64 // m, where --pipe gives one
}

// The words that mean no valve, and the generic class that is placed where nobody says another.
const (
	noValve    = "none"
	usualValve = "Typical combination DN 80"
)

func newCommand(c *console) *cobra.Command {
	var f newFlags
	cmd := &cobra.Command{
		Use:   "new FOLDER",
		Short: "Make a line's folder to start from",
		Long: `New makes a line's folder with everything that a study needs: line.toml, in
which comments say what each section is for and where its figures are found, a
profile, and a rack. obvert check reads it without a fault, obvert study answers
at once.

On a terminal it asks for what flags do not say; an empty answer takes what
stands in brackets, or lets it be assumed. In scripts, and with --yes, nothing
is asked. What nobody said is assumed, marked so in the document and listed with
every answer. Without a profile one is invented, and said to be.

The rack gets the records of --rack, or the generic classes: typical figures of
no particular valve, marked so. An air valve of the type named is placed at each
high point of the profile, and behind a pump.

Nothing that is there is overwritten, and the folder appears only when complete.`,
		Example: `  obvert new mylines/east --yes
  obvert new mylines/ridge --yes --profile demo/survey/hill.csv \
    --pipe "450 mm"
  obvert new mylines/west --yes --from tank --from-level "140 m" \
    --to-end outfall --length "2.4 km" --levels "135 m, 120 m, 128 m, 95 m" \
    --pipe "EN 545 C40 DN 300" --valve "Typical combination DN 100"`,
		Args:              exactly("FOLDER, the folder to make,"),
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE:              func(cmd *cobra.Command, args []string) error { return f.begin(cmd.Context(), c, args[0]) },
	}
	s := cmd.Flags()
	s.StringVar(&f.profile, "profile", "", "`file` of a survey with chainage and level")
	s.StringVar(&f.length, "length", "", "`length` of the line, in place of a profile")
	s.StringVar(&f.levels, "levels", "", "`levels` along it: evenly, or \"0+500 120 m, …\"")
	s.StringVar(&f.choices.Name, "name", "", "`name` of the line")
	s.StringVar(&f.kind, "level-kind", "", "`kind` of levels: obvert, invert, axis or ground")
	s.StringVar(&f.unit, "unit", "", "`unit` of a profile that does not say")
	s.StringVar(&f.cover, "cover", "", "`depth` from the ground to the obvert")
	s.StringVar(&f.choices.From, "from", "", "`what` feeds the line: tank or station")
	s.StringVar(&f.fromLevel, "from-level", "", "`level` of the water that feeds it")
	s.StringVar(&f.choices.To, "to-end", "", "`what` it ends at: tank or outfall")
	s.StringVar(&f.toLevel, "to-level", "", "`level` of the water in the tank at the end")
	s.StringVar(&f.choices.Pipe, "pipe", "", "standard `size`, or bore such as \"300 mm\"")
	s.StringVar(&f.flow, "flow", "", "design `flow`, for pump and pipe")
	s.StringVar(&f.rack, "rack", "", "`folder` of valve records; else the generic classes")
	s.StringVar(&f.valve, "valve", "", "`type` of air valve at high points, or none")
	s.BoolVarP(&f.yes, "yes", "y", false, "ask nothing; assume what is not said")
	jsonFlag(cmd, &f.json)
	_ = cmd.RegisterFlagCompletionFunc("valve", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		rack, _ := f.records()
		return append(valveNames(rack), noValve), cobra.ShellCompDirectiveNoFileComp
	})
	_ = cmd.RegisterFlagCompletionFunc("pipe", func(_ *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
		return pipe.Names(), cobra.ShellCompDirectiveNoFileComp
	})
	for flag, words := range map[string][]string{"from": {"tank", "station"}, "to-end": {"tank", "outfall"}, "level-kind": {"obvert", "invert", "axis", "ground"}} {
		_ = cmd.RegisterFlagCompletionFunc(flag, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return words, cobra.ShellCompDirectiveNoFileComp
		})
	}
	return cmd
}

// begin makes the folder.
func (f *newFlags) begin(ctx context.Context, c *console, path string) error {
	if err := mayMake(path); err != nil {
		return err
	}
	if err := f.said(path); err != nil {
		return err
	}
	rack, err := f.records()
	if err != nil {
		return err
	}
	asks := c.in.asks && !f.yes && !f.json
	if asks {
		if err := f.askProfile(c); err != nil {
			return err
		}
	}
	b := survey.Beginning{Bore: f.bore}
	var told document.Faults
	if b.Reading, told, err = f.reading(ctx, c); err != nil {
		return err
	}
	if asks {
		if err := f.askLine(c, &b, rack); err != nil {
			return err
		}
	}
	if b.Type, err = f.kindOfValve(rack); err != nil {
		return err
	}
	b.Choices, b.Rack = f.choices, rack
	folder, faults := survey.Begin(ctx, b)
	if err := ctx.Err(); err != nil {
		return err
	}
	told = append(told, faults...)
	if faults.Err() != nil {
		return told
	}
	var files []output
	for _, x := range folder.Files {
		files = append(files, output{x.Name, x.Data})
	}
	if err := mayMake(path); err != nil { // while questions were asked someone else may have been there
		return err
	}
	if err := writeInto(path, files); err != nil {
		return err
	}
	return f.made(c, path, &folder, told, files)
}

// said reads the flags that carry units, all that is wrong with them at once.
func (f *newFlags) said(path string) error {
	if f.choices.Name == "" {
		f.choices.Name = lineName(path)
	}
	var all document.Faults
	if err := f.settle(); err != nil {
		all = asFaults(err)
	}
	if f.choices.Pipe != "" {
		if err := f.takePipe(f.choices.Pipe); err != nil {
			all = append(all, document.Fault{Key: "--pipe", What: err.Error()})
		}
	}
	switch {
	case f.profile != "" && (f.length != "" || f.levels != ""):
		all = append(all, document.Fault{Key: "--profile", What: "a profile and levels beside it", Hint: "give the one or the other"})
	case (f.length != "") != (f.levels != "") && !strings.Contains(f.levels, "+"):
		all = append(all, document.Fault{Key: "--length", What: "a length without levels along it, or levels without a length", Hint: "give both, such as --length \"2 km\" --levels \"100 m, 130 m, 120 m\""})
	}
	return all.Err()
}

// lineName is the line's name after its folder: "mylines/north-main" is North main.
func lineName(path string) string {
	name := filepath.Base(filepath.Clean(path))
	name = strings.Join(strings.FieldsFunc(name, func(r rune) bool { return r == '-' || r == '_' || r == ' ' }), " ")
	if strings.Trim(name, ". /\\") == "" {
		return "New line"
	}
	return upper(name)
}

// takePipe reads a standard size, or a bore with its unit.
func (f *newFlags) takePipe(text string) error {
	size, err := pipe.Lookup(text)
	if err == nil {
		f.choices.Pipe, f.bore = size.Name, 0
		return nil
	}
	if v, bad := quantity.Parse(quantity.Length, text); bad == nil && v > 0 {
		f.choices.Pipe, f.bore = "", v
		return nil
	}
	return err
}

// records are those of --rack, or the generic classes.
func (f *newFlags) records() ([]valve.Record, error) {
	if f.rack == "" {
		return valve.Typical(), nil
	}
	rack, faults := loadRack(f.rack)
	return rack, faults.Err()
}

// kindOfValve is the type to be placed at high points, empty for none.
func (f *newFlags) kindOfValve(rack []valve.Record) (string, error) {
	switch {
	case strings.EqualFold(f.valve, noValve) || len(rack) == 0:
		return "", nil
	case f.valve == "" && f.rack == "":
		return usualValve, nil
	case f.valve == "":
		return rack[0].Name, nil
	}
	found, err := onRack(rack, []string{f.valve})
	if err != nil {
		return "", err
	}
	return found[0], nil
}

// reading reads the profile, or the levels that stand for one; without either it is empty.
func (f *newFlags) reading(ctx context.Context, c *console) (survey.Reading, document.Faults, error) {
	if f.profile != "" {
		readings, told, err := f.read(ctx, c, []string{f.profile})
		if err != nil {
			return survey.Reading{}, nil, err
		}
		return readings[0], told, nil
	}
	if f.levels == "" {
		return survey.Reading{}, nil, nil
	}
	points, err := levelsAlong(f.length, f.levels)
	if err != nil {
		return survey.Reading{}, nil, err
	}
	kind := f.options.LevelKind
	if kind == nil {
		k := line.LevelObvert
		kind = &k
	}
	return survey.Reading{File: "levels as typed", Format: "text", Tracks: []survey.Track{{
		Name: f.choices.Name, Points: points, HasChainage: true, LevelKind: kind, Score: 1, Why: "typed", Chainages: "as typed"}}}, nil, nil
}

// levelsAlong reads levels at even distances over a length, or each with its chainage before it.
func levelsAlong(length, text string) ([]survey.Point, error) {
	var all document.Faults
	bad := func(what, hint string) {
		all = append(all, document.Fault{Key: "--levels", What: what, Hint: hint})
	}
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' })
	total := 0.0
	if length != "" {
		if err := measured("length", length, quantity.Length, &total, nil); err != nil {
			return nil, err
		}
	}
	var points []survey.Point
	for i, part := range parts {
		part = strings.TrimSpace(part)
		p := survey.Point{HasLevel: true, Where: i + 1}
		if at, level, ok := strings.Cut(part, " "); ok && strings.Contains(at, "+") {
			v, err := quantity.Parse(quantity.Chainage, at)
			if err != nil {
				bad(err.Error(), "")
				continue
			}
			p.Chainage, part = v, level
		} else if length == "" {
			bad(fmt.Sprintf("%q has no chainage", part), "write it before the level, such as \"0+500 120 m\", or give --length")
			continue
		} else if len(parts) > 1 {
			p.Chainage = math.Round(1e3*total*float64(i)/float64(len(parts)-1)) / 1e3
		}
		v, err := quantity.Parse(quantity.Length, part)
		if err != nil {
			bad(err.Error(), "")
			continue
		}
		p.Level = v
		points = append(points, p)
	}
	if len(parts) < 2 {
		bad("fewer than two levels", "give that of the beginning and that of the end at least")
	}
	return points, all.Err()
}

// askProfile asks for what the line is called and how it lies.
func (f *newFlags) askProfile(c *console) error {
	if err := c.askUntil("Name of the line", f.choices.Name, func(text string) error { f.choices.Name = text; return nil }); err != nil {
		return err
	}
	if f.profile != "" || f.levels != "" {
		return nil
	}
	err := c.askUntil("Profile, a file with chainage and level (empty: levels by hand)", "", func(text string) error {
		if text == "" {
			return nil
		}
		if _, err := readSurvey(text); err != nil {
			return err
		}
		f.profile = text
		return nil
	})
	if err != nil || f.profile != "" {
		return err
	}
	err = c.askUntil("Length of the line, such as 2.4 km (empty: an invented example)", "", func(text string) error {
		f.length = text
		return c.understood("length", text, quantity.Length)
	})
	if err != nil || f.length == "" {
		return err
	}
	return c.askUntil("Levels of the pipe's obvert along it, at even distances from the beginning to the end, such as 100 m, 131 m, 118 m", "", func(text string) error {
		points, err := levelsAlong(f.length, text)
		if err != nil {
			return err
		}
		f.levels = text
		var said []string
		for _, p := range points {
			said = append(said, quantity.FormatChainage(p.Chainage)+" "+quantity.Format(p.Level, "m", 2))
		}
		fmt.Fprintln(c.err, wrap("  understood: "+strings.Join(said, ", "), c.width, 4))
		return nil
	})
}

// askLine asks for pipe, ends and valves.
func (f *newFlags) askLine(c *console, b *survey.Beginning, rack []valve.Record) error {
	if f.choices.Pipe == "" && f.bore == 0 {
		err := c.askUntil("Pipe, a standard size or a bore, such as EN 545 C40 DN 300 or 300 mm (empty: one for the flow)", "", func(text string) error {
			if text == "" {
				return nil
			}
			if err := f.takePipe(text); err != nil {
				return err
			}
			said := "bore " + quantity.Format(f.bore, "mm", 1)
			if size, err := pipe.Lookup(f.choices.Pipe); err == nil {
				said = size.Name + ", bore " + quantity.Format(size.Bore, "mm", 1)
			}
			fmt.Fprintln(c.err, "  understood: "+said)
			return nil
		})
		if err != nil {
			return err
		}
		b.Bore = f.bore
	}
	asked := b.Reading
	if b.Bore > 0 || len(asked.Tracks) == 0 { // neither is the pipe asked again, nor the example's ends
		asked.Pipes = append(asked.Pipes, survey.Pipe{})
	}
	if len(asked.Tracks) > 0 {
		if err := f.askAll(c, []survey.Reading{asked}); err != nil {
			return err
		}
		for _, q := range []struct {
			ask, flag string
			into      *float64
			given     *bool
			skip      bool
		}{
			{"Level of the water that feeds it (empty: assumed from the profile)", "from-level", &f.choices.FromLevel, &f.choices.HasFromLevel, false},
			{"Level of the water in the tank at the end (empty: assumed from the profile)", "to-level", &f.choices.ToLevel, &f.choices.HasToLevel, f.choices.To == "outfall"},
		} {
			if q.skip || *q.given {
				continue
			}
			err := c.askUntil(q.ask, "", func(text string) error {
				if err := c.understood(q.flag, text, quantity.Length); err != nil {
					return err
				}
				return measured(q.flag, text, quantity.Length, q.into, q.given)
			})
			if err != nil {
				return err
			}
		}
	}
	if f.valve != "" || len(rack) == 0 {
		return nil
	}
	usual, err := f.kindOfValve(rack)
	if err != nil {
		return err
	}
	fmt.Fprintln(c.err, wrap("On the rack: "+list(valveNames(rack))+".", c.width, 2))
	return c.askUntil("Type of air valve at high points, or none", usual, func(text string) error {
		f.valve = text
		_, err := f.kindOfValve(rack)
		return err
	})
}

// understood tells what an answer with a unit was read as. An empty answer is none.
func (c *console) understood(flag, text string, kind quantity.Kind) error {
	if text == "" {
		return nil
	}
	v := 0.0
	if err := measured(flag, text, kind, &v, nil); err != nil {
		return err
	}
	fmt.Fprintln(c.err, "  understood: "+digits(v)+" "+kind.SI())
	return nil
}

// mayMake refuses a place where something is.
func mayMake(path string) error {
	if strings.TrimSpace(path) == "" {
		return usageError{errors.New("the folder to make has no name")}
	}
	info, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return one(path, "cannot be used: "+reason(err), "choose another folder")
	case info.IsDir():
		if entries, err := os.ReadDir(path); err == nil && len(entries) == 0 {
			return nil
		}
		return one(path, "is there and not empty", "choose another name: nothing is overwritten")
	}
	return one(path, "is there already", "choose another name: nothing is overwritten")
}

// made tells what was written and what to do next.
func (f *newFlags) made(c *console, path string, folder *survey.Folder, told document.Faults, files []output) error {
	var names []string
	for _, x := range files {
		names = append(names, filepath.ToSlash(filepath.Join(path, x.name)))
	}
	var assumed []string
	for _, a := range folder.Line.Assumed {
		assumed = append(assumed, a.Text)
	}
	if f.json {
		return deliver.Encode(c.out, struct {
			Folder  string
			Line    string
			Written []string
			Assumed []string
			Faults  document.Faults
		}{filepath.ToSlash(path), folder.Line.Name, names, assumed, told})
	}
	if len(told) > 0 {
		_ = told.Render(c.err, c.width)
	}
	c.lineHead(folder.Line)
	c.line()
	c.line(wrap(fmt.Sprintf("Written: %s, its profile, and %s on the rack.", filepath.ToSlash(filepath.Join(path, line.DocumentName)), count(len(folder.Line.Rack), "record")), c.width, 4))
	c.line(wrap(fmt.Sprintf("%s to put right: open line.toml, or see", count(len(assumed), "assumption")), c.width, 4))
	c.line("  obvert check ", quotedPath(path))
	c.line("  obvert study ", quotedPath(path))
	return nil
}

// quotedPath is a path as a shell takes it.
func quotedPath(path string) string {
	path = filepath.ToSlash(path)
	if strings.ContainsAny(path, " '\"$&()*;<>?[]`|") {
		return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
	}
	return path
}
