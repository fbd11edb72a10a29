package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/document"
	"obvert/quantity"
)

func unitsCommand(c *console) *cobra.Command {
	var to string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "units [KIND | UNIT | FIGURE]",
		Short: "Show the units a quantity is written in, or convert a figure",
		Long: `Units lists the kinds of quantity there are, each with its unit inside the
program and the units it is written in. With a kind it shows every unit of it,
what one of it is exactly, the other spellings that are read, and the source of
the definition. With a unit it shows the kinds that are written in it.

With a figure it says what is understood; --to gives the figure in another unit.
Nothing is guessed: where a figure can be of several kinds, all are shown.`,
		Example: `  obvert units
  obvert units pressure
  obvert units psi
  obvert units "450 mm" --to in
  obvert units "12 US gal/min" --to L/s`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usageError{fmt.Errorf("%q is one argument too many; put a figure and its unit in quotation marks: %q", args[1], strings.Join(args, " "))}
			}
			return nil
		},
		ValidArgsFunction: func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return kindNames(), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			word := ""
			if len(args) > 0 {
				word = strings.TrimSpace(args[0])
			}
			if word == "" {
				if cmd.Flags().Changed("to") {
					return usageError{errors.New("--to asks for a figure to convert")}
				}
				return c.kinds(asJSON)
			}
			if !cmd.Flags().Changed("to") {
				if found := kindsNamed(word); len(found) > 0 {
					return c.unitsOf(found, asJSON)
				}
				if found := kindsIn(word); len(found) > 0 {
					return c.unitsOf(found, asJSON, word)
				}
			}
			return c.convert(word, to, asJSON)
		},
	}
	cmd.Flags().StringVar(&to, "to", "", "give the figure in this `unit`")
	jsonFlag(cmd, &asJSON)
	_ = cmd.RegisterFlagCompletionFunc("to", func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
		var kinds []quantity.Kind
		if len(args) > 0 {
			for _, r := range readings(args[0]) {
				kinds = append(kinds, r.kind)
			}
		}
		if len(kinds) == 0 {
			kinds = quantity.Kinds()
		}
		var all []string
		for _, k := range kinds {
			for _, u := range quantity.Table(k) {
				all = append(all, u.Name)
			}
		}
		slices.Sort(all)
		return slices.Compact(all), cobra.ShellCompDirectiveNoFileComp
	})
	return cmd
}

// kindName is a kind's name without its article: "gauge pressure".
func kindName(k quantity.Kind) string {
	_, name, _ := strings.Cut(k.String(), " ")
	return name
}

func kindNames() []string {
	var all []string
	for _, k := range quantity.Kinds() {
		all = append(all, kindName(k))
	}
	return all
}

// kindsNamed are the kinds whose name is the word, or has it as one of its words.
func kindsNamed(word string) []quantity.Kind {
	word = strings.ToLower(word)
	var out []quantity.Kind
	for _, k := range quantity.Kinds() {
		name := kindName(k)
		if name == word {
			return []quantity.Kind{k}
		}
		if slices.Contains(strings.Fields(name), word) {
			out = append(out, k)
		}
	}
	return out
}

// kindsIn are the kinds that are written in a unit.
func kindsIn(unit string) []quantity.Kind {
	var out []quantity.Kind
	for _, k := range quantity.Kinds() {
		if k == quantity.Money || k == quantity.MoneyPerEnergy || k == quantity.MoneyPerVolume {
			continue
		}
		if _, _, err := quantity.Convert(k, 1, unit); err == nil {
			out = append(out, k)
		}
	}
	return out
}

// unitShown is a unit as JSON has it.
type unitShown struct {
	Name   string
	Also   []string
	Exact  string
	InSI   float64 `unit:"1"`
	Shift  float64 `unit:"1"`
	Source string
}

// kindShown is a kind as JSON has it.
type kindShown struct {
	Kind    string
	SI      string
	Example string
	Units   []unitShown
}

func showKind(k quantity.Kind) kindShown {
	out := kindShown{Kind: kindName(k), SI: k.SI(), Example: k.Example()}
	for _, u := range quantity.Table(k) {
		out.Units = append(out.Units, unitShown{u.Name, u.Also, u.Exact, u.SI, u.Shift, u.Source})
	}
	return out
}

// kinds writes a row for each kind.
func (c *console) kinds(asJSON bool) error {
	if asJSON {
		var all []kindShown
		for _, k := range quantity.Kinds() {
			all = append(all, showKind(k))
		}
		return deliver.Encode(c.out, struct{ Kinds []kindShown }{all})
	}
	t := table{head: []string{"kind", "in SI", "example", "units, usual ones first"}}
	for _, k := range quantity.Kinds() {
		rows := quantity.Table(k)
		var names []string
		for _, u := range rows[:min(6, len(rows))] {
			names = append(names, solid(u.Name))
		}
		text := strings.Join(names, ", ")
		if n := len(rows) - len(names); n > 0 {
			text += fmt.Sprintf(" and\u00a0%d\u00a0more", n)
		}
		if k == quantity.Money {
			text = "an ISO 4217 code"
		}
		t.rows = append(t.rows, []string{kindName(k), k.SI(), solid(k.Example()), text})
	}
	t.print(c)
	c.line()
	c.line(wrap("A figure has a decimal point and a unit; a bare number is refused. obvert units KIND shows all of a kind's units.", c.width, 0))
	return nil
}

// solid keeps a unit or a figure with its unit on one line.
func solid(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

// unitsOf writes every unit of some kinds, or only one unit of each.
func (c *console) unitsOf(kinds []quantity.Kind, asJSON bool, only ...string) error {
	var shown []kindShown
	for _, k := range kinds {
		s := showKind(k)
		if len(only) > 0 {
			_, name, err := quantity.Convert(k, 1, only[0])
			if err != nil {
				return err
			}
			s.Units = slices.DeleteFunc(s.Units, func(u unitShown) bool { return u.Name != name })
		}
		shown = append(shown, s)
	}
	if asJSON {
		return deliver.Encode(c.out, struct{ Kinds []kindShown }{shown})
	}
	var sources []string
	for i, s := range shown {
		if i > 0 {
			c.line()
		}
		name := s.Kind
		if s.SI != "1" {
			name += ", in SI " + s.SI
		}
		c.line(c.paint(strong, strings.ToUpper(name[:1])+name[1:]), "; for example ", s.Example)
		if len(s.Units) == 0 {
			c.line(wrap("A figure with an ISO 4217 code.", c.width, 0))
			continue
		}
		t := table{head: []string{"unit", "one is exactly", "also read", "source"}}
		if strings.HasPrefix(s.SI, "currency/") {
			t.head[0], t.head[1] = "per", "one a unit is exactly"
		}
		for _, u := range s.Units {
			short, _, _ := strings.Cut(u.Source, ",")
			short, _, _ = strings.Cut(short, " (")
			t.rows = append(t.rows, []string{solid(u.Name), solid(u.Exact), strings.Join(u.Also, ", "), short})
			if !slices.Contains(sources, u.Source) {
				sources = append(sources, u.Source)
			}
		}
		t.print(c)
	}
	if len(sources) > 0 {
		c.line()
		c.line(wrap("Sources: "+strings.Join(sources, "; ")+".", c.width, 0))
	}
	return nil
}

// reading is what a figure is read as.
type reading struct {
	kind  quantity.Kind
	value float64 // SI
}

// readings are the kinds as which a text is read, each with its figure.
func readings(text string) []reading {
	var out []reading
	for _, k := range quantity.Kinds() {
		if k == quantity.Money || k == quantity.MoneyPerEnergy || k == quantity.MoneyPerVolume {
			continue
		}
		if v, err := quantity.Parse(k, text); err == nil {
			out = append(out, reading{k, v})
		}
	}
	return out
}

// conversion is a figure as it was understood and in another unit, as JSON has it.
type conversion struct {
	Kind  string
	Value float64 `unit:"1"` // SI
	SI    string
	In    *inUnit
}

type inUnit struct {
	Value float64 `unit:"1"`
	Unit  string
}

// convert writes what a figure is understood as, and what it is in another unit.
func (c *console) convert(text, to string, asJSON bool) error {
	all := readings(text)
	if len(all) == 0 {
		return notRead(text)
	}
	var out []conversion
	var refused error
	for _, r := range all {
		x := conversion{Kind: r.kind.String(), Value: r.value, SI: r.kind.SI()}
		if to != "" {
			v, name, err := quantity.Convert(r.kind, r.value, to)
			if err != nil {
				if refused == nil {
					refused = err
				}
				continue
			}
			x.In = &inUnit{v, name}
		}
		out = append(out, x)
	}
	if len(out) == 0 {
		f := document.Fault{Key: "--to", What: fmt.Sprintf("%s cannot be written in %s", quantity.Quote(text), quantity.Quote(to)), Understood: refused.Error()}
		var e *quantity.Error
		if errors.As(refused, &e) {
			f.Understood, f.Hint = e.Understood, e.Hint
		}
		return document.Faults{f}
	}
	if asJSON {
		return deliver.Encode(c.out, struct {
			Text     string
			Readings []conversion
		}{text, out})
	}
	for i, x := range out {
		if i > 0 && same(out[i-1], x) {
			continue // told with the one before
		}
		kinds := []string{x.Kind}
		for j := i + 1; j < len(out) && same(x, out[j]); j++ {
			kinds = append(kinds, out[j].Kind)
		}
		x.Kind = strings.Join(kinds, " or ")
		line := text + ", " + x.Kind + ": " + siText(x)
		if x.In != nil {
			line = text + ", " + x.Kind + ", is " + c.paint(strong, digits(x.In.Value)+"\u00a0"+x.In.Unit)
			if x.In.Unit == "1:n" {
				line = text + ", " + x.Kind + ", is " + c.paint(strong, "1:"+digits(x.In.Value))
			}
			if x.In.Unit != x.SI {
				line += " (" + siText(x) + ")"
			}
		}
		c.line(wrap(line, c.width, 4))
	}
	return nil
}

// same tells whether two readings of a text come to the same figures.
func same(a, b conversion) bool {
	return a.Value == b.Value && a.SI == b.SI && (a.In == nil) == (b.In == nil) && (a.In == nil || *a.In == *b.In)
}

// siText is a figure in SI.
func siText(x conversion) string {
	if x.SI == "1" {
		return digits(x.Value)
	}
	return digits(x.Value) + "\u00a0" + x.SI
}

// digits is a figure with ten significant digits, as short as they allow.
func digits(v float64) string { return strings.ReplaceAll(fmt.Sprintf("%.10g", v), "-", "−") }

// notRead tells why a word is neither a kind, nor a unit, nor a figure.
func notRead(text string) error {
	f := document.Fault{What: quantity.Quote(text) + " is no kind of quantity, no unit and no figure", Hint: "see the kinds that obvert units lists"}
	if strings.ContainsAny(text, "0123456789") {
		_, err := quantity.Parse(quantity.Length, text)
		if amount, currency, bad := quantity.ParseMoney(quantity.Money, text); bad == nil {
			f.What, f.Hint = fmt.Sprintf("%s is money: %s %s", quantity.Quote(text), digits(amount), currency), "money is not converted"
			return document.Faults{f}
		}
		var e *quantity.Error
		if errors.As(err, &e) {
			f.What, f.Understood, f.Hint = quantity.Quote(text)+" is not a figure with a known unit", e.Understood, e.Hint
		}
		return document.Faults{f}
	}
	known := kindNames()
	for _, k := range quantity.Kinds() {
		known = append(known, quantity.Units(k)...)
	}
	if near, ok := quantity.Nearest(text, known); ok {
		f.Hint = fmt.Sprintf("did you mean %q?", near)
	}
	return document.Faults{f}
}
