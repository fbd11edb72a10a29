package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/document"
	"obvert/line"
	"obvert/physics/pipe"
	"obvert/quantity"
	"obvert/survey"
)

// importFlags are the flags of import.
type importFlags struct {
	to    string
	yes   bool
	force bool
	json  bool
	rack  string

	kind, unit, levelUnit, planUnit             string
	cover, tolerance, stakes, backstep, decimal string
	columns                                     []string
	fromLevel, toLevel, flow                    string
	datum                                       string

	options survey.Options
	choices survey.Choices
}

func importCommand(c *console) *cobra.Command {
	var f importFlags
	cmd := &cobra.Command{
		Use:   "import FILE…",
		Short: "Make a line's folder of a survey",
		Long: wrap(`Import reads a survey in whatever form it comes (`+strings.Join(survey.Formats(), ", ")+`; found by content, not by the name's ending), with tables of pumps, pipes and valves beside it, and makes an ordinary line folder of it: line.toml, commented, with the profile as CSV. It shows what it took and what it left.`, usualWidth, 0) + `

What the files do not say is asked on a terminal; in scripts it comes from
flags. What neither says is assumed, marked so in the document and listed with
every answer. Of what levels are, their units, and the depth of a pipe under
levels of the ground are never guessed.

Nothing is written without --to, nor before you say yes (--yes where nobody can
be asked). A line that is there already is not touched; with --force its files
are kept beside the new ones under other names.

` + wrap(fmt.Sprintf("A profile of more than %d points is thinned to a vertical tolerance of %s unless --tolerance says another; \"0 mm\" keeps every point.", survey.ThinAbove,
			strings.ReplaceAll(quantity.Format(survey.UsualTolerance, "mm", 0), "\u00a0", " ")), usualWidth, 0),
		Example: `  obvert import demo/survey/hill.csv
  obvert import demo/survey/hill.csv --to mylines/hill --yes \
    --pipe "EN 545 C40 DN 300" --flow "60 L/s"
  obvert import demo/survey/walk.gpx --to mylines/walk --yes \
    --level-kind ground --cover "1.2 m" --to-end outfall`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usageError{errors.New("FILE, a survey, is missing")}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), c, args) },
	}
	f.flags(cmd)
	return cmd
}

func (f *importFlags) flags(cmd *cobra.Command) {
	s := cmd.Flags()
	s.StringVar(&f.to, "to", "", "write the line into this `folder`")
	s.BoolVarP(&f.yes, "yes", "y", false, "write unasked; assume what is not said")
	s.BoolVar(&f.force, "force", false, "write over a line; its files are kept beside")
	jsonFlag(cmd, &f.json)
	s.StringVar(&f.rack, "rack", "", "`folder` of valve records for the tables' types")

	s.StringVar(&f.choices.Name, "name", "", "`name` of line and run")
	s.StringVar(&f.choices.Take, "take", "", "`name` of sheet, alignment, layer or track")
	s.BoolVar(&f.choices.Turn, "turn", false, "let chainage count from the other end")
	s.StringVar(&f.kind, "level-kind", "", "`kind`: obvert, invert, axis or ground")
	s.StringVar(&f.unit, "unit", "", "`unit` of levels and plan, where the file is silent")
	s.StringVar(&f.levelUnit, "level-unit", "", "`unit` of levels alone")
	s.StringVar(&f.planUnit, "plan-unit", "", "`unit` of chainage and coordinates alone")
	s.StringVar(&f.cover, "cover", "", "`depth` from the ground to the obvert")
	s.StringVar(&f.tolerance, "tolerance", "", "leave out points within this `length` of the rest")
	s.StringArrayVar(&f.columns, "column", nil, "`head=role` of a column of a table; repeatable")
	s.StringVar(&f.stakes, "stakes", "", "`length` of a stake in 1+250 (usual: 1 km)")
	s.StringVar(&f.decimal, "decimal-sign", "", "`sign`: point or comma, where figures are vague")
	s.StringVar(&f.backstep, "backstep", "", "`length` of backsteps that are sorted (usual: 1 m)")
	s.Float64Var(&f.options.ScaleAcross, "scale-across", 0, "`metres` of chainage in a drawing unit")
	s.Float64Var(&f.options.ScaleUp, "scale-up", 0, "`metres` of level in a drawing unit")
	s.StringVar(&f.datum, "datum", "", "`level` of a drawing's zero line")

	s.StringVar(&f.choices.Pipe, "pipe", "", "standard `size` of the whole run")
	s.StringVar(&f.choices.From, "from", "", "`what` feeds the line: tank or station")
	s.StringVar(&f.fromLevel, "from-level", "", "`level` of the water that feeds it")
	s.StringVar(&f.choices.To, "to-end", "", "`what` it ends at: tank or outfall")
	s.StringVar(&f.toLevel, "to-level", "", "`level` of the water in the tank at the end")
	s.StringVar(&f.flow, "flow", "", "design `flow`, for pump and pipe")
}

// levelKindNamed is the kind of level of a word.
func levelKindNamed(word string) (*line.LevelKind, error) {
	for k := line.LevelObvert; k <= line.LevelGround; k++ {
		if k.String() == strings.ToLower(word) {
			return &k, nil
		}
	}
	return nil, document.Faults{{Key: "--level-kind", What: fmt.Sprintf("%q is no kind of level", word), Hint: "say obvert, invert, axis or ground"}}
}

// measured reads a flag with a unit into a value, and marks it as given.
func measured(flag, text string, kind quantity.Kind, into *float64, given *bool) error {
	if text == "" {
		return nil
	}
	v, err := quantity.Parse(kind, text)
	if err != nil {
		f := document.Fault{Key: "--" + flag, What: err.Error()}
		var q *quantity.Error
		if errors.As(err, &q) {
			f.What, f.Understood, f.Hint = q.What(), q.Understood, q.Hint
		}
		return document.Faults{f}
	}
	*into = v
	if given != nil {
		*given = true
	}
	return nil
}

// settle reads the flags that carry a unit or a word; all that is wrong with them at once.
func (f *importFlags) settle() error {
	o, ch := &f.options, &f.choices
	var all document.Faults
	keep := func(err error) {
		if err != nil {
			all = append(all, asFaults(err)...)
		}
	}
	if f.kind != "" {
		kind, err := levelKindNamed(f.kind)
		keep(err)
		o.LevelKind, ch.LevelKind = kind, kind
	}
	o.LevelUnit, o.PlanUnit = f.levelUnit, f.planUnit
	if o.LevelUnit == "" {
		o.LevelUnit = f.unit
	}
	if o.PlanUnit == "" {
		o.PlanUnit = f.unit
	}
	o.Take, o.Decimal = ch.Take, f.decimal
	ch.LevelUnit = f.levelUnit != "" || f.unit != ""
	keep(measured("cover", f.cover, quantity.Length, &ch.Cover, &ch.HasCover))
	keep(measured("tolerance", f.tolerance, quantity.Length, &ch.Tolerance, &ch.HasTolerance))
	keep(measured("backstep", f.backstep, quantity.Length, &o.MaxBackstep, nil))
	keep(measured("datum", f.datum, quantity.Length, &o.Datum, nil))
	keep(measured("from-level", f.fromLevel, quantity.Length, &ch.FromLevel, &ch.HasFromLevel))
	keep(measured("to-level", f.toLevel, quantity.Length, &ch.ToLevel, &ch.HasToLevel))
	keep(measured("flow", f.flow, quantity.Flow, &ch.Flow, nil))
	if f.stakes != "" {
		o.Stakes.Rest = 1
		keep(measured("stakes", f.stakes, quantity.Length, &o.Stakes.Step, nil))
		if strings.HasSuffix(strings.TrimSpace(f.stakes), "ft") {
			o.Stakes.Rest = 0.3048
		}
	}
	for _, text := range f.columns {
		i := strings.LastIndexByte(text, '=')
		if i <= 0 {
			keep(document.Faults{{Key: "--column", What: fmt.Sprintf("%q does not say what a column holds", text), Hint: "write its head or number, = and what it holds, such as 2=invert"}})
			continue
		}
		if o.Columns == nil {
			o.Columns = map[string]string{}
		}
		o.Columns[strings.TrimSpace(text[:i])] = strings.TrimSpace(text[i+1:])
	}
	return all.Err()
}

func (f *importFlags) run(ctx context.Context, c *console, paths []string) error {
	if err := f.settle(); err != nil {
		return err
	}
	if f.to != "" {
		if err := f.mayImport(); err != nil {
			return err
		}
	}
	if f.rack != "" {
		records, faults := loadRack(f.rack)
		if err := faults.Err(); err != nil {
			return faults
		}
		f.choices.Rack = records
	}
	readings, told, err := f.read(ctx, c, paths)
	if err != nil {
		return err
	}
	if err := f.askAll(c, readings); err != nil {
		return err
	}
	folder, faults := survey.Compose(readings, f.choices)
	if faults.Err() != nil {
		return append(told, faults...)
	}
	told = append(told, faults...)
	show := func() error { return nil }
	if f.json {
		show = func() error { return deliver.Encode(c.out, newImported(readings, folder, told, f.to, f.yes)) }
		_ = told.Render(c.err, c.width)
	} else {
		c.readings(readings, folder, told)
	}
	switch {
	case f.to == "":
		if !f.json {
			c.line()
			c.line("Nothing was written: say --to and a folder to make this a line.")
		}
		return show()
	case !f.yes && !c.in.asks:
		_ = c.flush()
		return asFault(fmt.Errorf("nothing was written into %s", filepath.ToSlash(f.to)), "say --yes to write it, since nobody can be asked here")
	case !f.yes:
		yes, err := c.confirm("Write this into " + filepath.ToSlash(f.to) + "?")
		if err != nil || !yes {
			c.line("Nothing was written.")
			return err
		}
	}
	kept, err := f.write(folder)
	if err != nil {
		return err
	}
	if f.json {
		return show()
	}
	c.importWritten(f.to, folder, kept)
	return nil
}

// mayImport refuses places where a line must not be written.
func (f *importFlags) mayImport() error {
	err := mayWrite(f.to)
	if _, there := os.Stat(filepath.Join(f.to, line.DocumentName)); there != nil {
		return err
	}
	if !f.force {
		return one(f.to, "holds a line already", "choose another folder; or say --force, and the files that are there are kept under other names")
	}
	return nil
}

// write writes the folder. Files that stand in its way are kept beside it under the first free name; it gives these.
func (f *importFlags) write(folder survey.Folder) (kept []string, err error) {
	var files []output
	for _, x := range folder.Files {
		path := filepath.Join(f.to, filepath.FromSlash(x.Name))
		old, err := os.ReadFile(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
		case err != nil:
			return nil, one(path, "cannot be read, and would be written over: "+reason(err), "choose another folder")
		case string(old) != string(x.Data):
			name := ""
			for n := 1; name == "" || exists(filepath.Join(f.to, filepath.FromSlash(name))); n++ {
				name = fmt.Sprintf("%s.%d", x.Name, n)
			}
			kept = append(kept, name)
			files = append(files, output{name, old})
		}
	}
	for _, x := range folder.Files {
		files = append(files, output{x.Name, x.Data})
	}
	return kept, writeInto(f.to, files)
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// read reads every file, asking for units where a terminal is there to ask.
func (f *importFlags) read(ctx context.Context, c *console, paths []string) ([]survey.Reading, document.Faults, error) {
	var readings []survey.Reading
	var told document.Faults
	for _, path := range paths {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		data, err := readSurvey(path)
		if err != nil {
			told = append(told, asFaults(err)...)
			continue
		}
		name := filepath.ToSlash(path)
		r, faults := survey.Read(name, data, f.options)
		for faults.Err() == nil && len(r.Ask) > 0 && c.in.asks && !f.yes {
			if err := f.askUnits(c, name, r.Ask); err != nil {
				return nil, nil, err
			}
			r, faults = survey.Read(name, data, f.options)
		}
		told = append(told, faults...)
		if faults.Err() != nil {
			continue
		}
		for _, what := range r.Ask {
			told = append(told, unitFault(name, what))
		}
		readings = append(readings, r)
	}
	if told.Err() != nil {
		return nil, nil, told.Sorted()
	}
	return readings, told, nil
}

// unitFault is a unit that nobody says.
func unitFault(file, what string) document.Fault {
	of := "levels"
	if what == "plan-unit" {
		of = "chainage or coordinates"
	}
	return document.Fault{File: file, What: "the unit of " + of + " is not said", Understood: "plain figures under a head without a unit",
		Hint: "say --" + what + " m (or ft, km …), or --unit m for both; or put it into the head, such as \"Level [m]\""}
}

func (f *importFlags) askUnits(c *console, file string, what []string) error {
	for _, w := range what {
		of, into := "levels", &f.options.LevelUnit
		if w == "plan-unit" {
			of, into = "chainage or coordinates", &f.options.PlanUnit
		}
		err := c.askUntil("In what unit are the "+of+" of "+file+"? (m, km, ft, ftUS …)", "", func(text string) error {
			if !line.LengthUnit(text) {
				return fmt.Errorf("%q is not a unit of length", text)
			}
			*into = text
			return nil
		})
		if err != nil {
			return err
		}
		if w == "level-unit" {
			f.choices.LevelUnit = true
		}
	}
	return nil
}

// readSurvey reads a file of a survey from anywhere, where it is a plain file and not too large.
func readSurvey(path string) ([]byte, error) {
	info, err := os.Stat(path)
	name := filepath.ToSlash(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, one(name, "there is nothing of this name", "check the spelling")
	case err != nil:
		return nil, one(name, "cannot be read: "+reason(err), "allow it to be read")
	case info.IsDir():
		return nil, one(name, "is a folder, not a file", "name the files inside it")
	case info.Mode()&fs.ModeNamedPipe != 0:
		return nil, one(name, "is a pipe, not a file", "save what it delivers to a file first")
	case !info.Mode().IsRegular():
		return nil, one(name, "is not a plain file", "name a file")
	case info.Size() > survey.MostBytes:
		return nil, document.Faults{{File: name, What: "the file is too large", Understood: fmt.Sprintf("%d MB, and the limit is %d MB", info.Size()/1_000_000, survey.MostBytes/1_000_000),
			Hint: "split it, or leave out points that no pipe bends at"}}
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, one(name, "cannot be read: "+reason(err), "allow it to be read")
	}
	defer file.Close()
	// Room for all of it at once: a buffer that grows would need it twice.
	data := bytes.NewBuffer(make([]byte, 0, info.Size()+bytes.MinRead))
	if _, err := data.ReadFrom(io.LimitReader(file, survey.MostBytes+1)); err != nil {
		return nil, one(name, "cannot be read: "+reason(err), "check the disk")
	}
	return data.Bytes(), nil
}

// askAll asks for what neither files nor flags say. Empty answers let it be assumed, where it may be.
func (f *importFlags) askAll(c *console, readings []survey.Reading) error {
	if !c.in.asks || f.yes || f.json {
		return nil
	}
	ch := &f.choices
	asked := map[string]bool{}
	for {
		// One at a time: an answer may raise a question, or settle one.
		all := survey.Questions(readings, *ch)
		i := slices.IndexFunc(all, func(q survey.Question) bool { return !asked[q.Flag] })
		if i < 0 {
			return nil
		}
		q := all[i]
		asked[q.Flag] = true
		var take func(string) error
		length := func(into *float64, given *bool) func(string) error {
			return func(text string) error { return measured(q.Flag, text, quantity.Length, into, given) }
		}
		word := func(into *string) func(string) error {
			return func(text string) error {
				for _, w := range q.Words {
					if strings.EqualFold(text, w) {
						*into = w
						return nil
					}
				}
				if text == "" {
					return nil
				}
				return fmt.Errorf("%q is none of %s", text, list(q.Words))
			}
		}
		switch q.Flag {
		case "level-kind":
			take = func(text string) error {
				kind, err := levelKindNamed(text)
				ch.LevelKind = kind
				return err
			}
		case "cover":
			take = length(&ch.Cover, &ch.HasCover)
		case "pipe":
			take = func(text string) error {
				if text == "" {
					return nil
				}
				_, err := pipe.Lookup(text)
				ch.Pipe = text
				return err
			}
		case "from":
			take = word(&ch.From)
		case "to-end":
			take = word(&ch.To)
		case "flow":
			take = func(text string) error { return measured(q.Flag, text, quantity.Flow, &ch.Flow, nil) }
		default:
			return fmt.Errorf("a question that nobody can answer: %s", q.Flag)
		}
		if q.Needed {
			may := take
			take = func(text string) error {
				if text == "" {
					return errors.New("this is not assumed: give an answer")
				}
				return may(text)
			}
		}
		if err := c.askUntil(q.Text, "", take); err != nil {
			return err
		}
	}
}
