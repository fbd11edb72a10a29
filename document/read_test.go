package document

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"obvert/quantity"
)

const whole = `# a line
title = "Ridge main"
kind = "pumping"
on = true
count = 3
factor = 1_000.5
altitude = "450 m"
price = "0.18 EUR/kWh"
day = 2026-11-25
text_day = "2026-02-28"
levels = ["1 m", "250 cm"]
names = ["A", 'B']
curve = [
  ["0 L/s", "62 m"], # shut
  ["20 L/s", "58 m"],
]
site.air.temp = "15 °C"
inline = [{ name = "x", bore = "1 m" }, { bore = "2 m" }]

[tank]
level = "12 m"

[[run]]
name = "Ridge"
[[run.section]]
bore = "450 mm"
[[run.section]]
bore = "300 mm"
[[run]]
bore = "200 mm"
`

func parsed(t *testing.T, text string) *Doc {
	t.Helper()
	d, faults := Parse("line.toml", []byte(text))
	if faults != nil {
		t.Fatal(faults.Error())
	}
	return d
}

func same[T comparable](t *testing.T, what string, got, want T) {
	t.Helper()
	if got != want {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

func TestReaders(t *testing.T) {
	d := parsed(t, whole)
	r := d.Root()
	text, ok := r.Text("title", true)
	same(t, "title", fmt.Sprint(text, ok), "Ridge maintrue")
	text, ok = r.Choice("kind", true, "standing", "pumping")
	same(t, "kind", fmt.Sprint(text, ok), "pumpingtrue")
	on, ok := r.Bool("on", true)
	same(t, "on", on && ok, true)
	n, ok := r.Int("count", true)
	same(t, "ok", ok, true)
	same(t, "count", n, 3)
	f, ok := r.Float("factor", true)
	same(t, "ok", ok, true)
	same(t, "factor", f, 1000.5)
	f, ok = r.Float("count", true)
	same(t, "ok", ok, true)
	same(t, "count as a number", f, 3)
	f, ok = r.Quantity("altitude", quantity.Length, true)
	same(t, "ok", ok, true)
	same(t, "altitude", f, 450)
	f, code, ok := r.Money("price", quantity.MoneyPerEnergy, true)
	same(t, "price", fmt.Sprint(f, code, ok), "5e-08EURtrue")
	day, ok := r.Date("day", true)
	same(t, "ok", ok, true)
	same(t, "day", day, "2026-11-25")
	day, ok = r.Date("text_day", true)
	same(t, "ok", ok, true)
	same(t, "day as text", day, "2026-02-28")
	levels, ok := r.Quantities("levels", quantity.Length, true)
	same(t, "ok", ok, true)
	same(t, "levels", fmt.Sprint(levels), "[1 2.5]")
	names, ok := r.Texts("names", true)
	same(t, "ok", ok, true)
	same(t, "names", fmt.Sprint(names), "[A B]")
	rows, ok := r.Rows("curve", true, quantity.Flow, quantity.Length)
	same(t, "curve", fmt.Sprint(rows, ok), "[[0 62] [0.02 58]] true")
	site, ok := r.Sub("site", true)
	same(t, "ok", ok, true)
	air, ok := site.Sub("air", true)
	same(t, "ok", ok, true)
	f, ok = air.Quantity("temp", quantity.Temperature, true)
	same(t, "ok", ok, true)
	same(t, "temp", f, 288.15)
	same(t, "path", air.Path(), "site.air")
	for i, x := range r.List("inline", true) {
		x.Text("name", false)
		f, _ = x.Quantity("bore", quantity.Length, true)
		same(t, "bore", f, float64(i+1))
		same(t, "path", x.Path(), []string{`inline "x"`, "inline[2]"}[i])
		same(t, "line", x.Line(), 18)
	}
	tank, _ := r.Sub("tank", true)
	tank.Quantity("level", quantity.Length, true)
	same(t, "line of tank", tank.Line(), 20)
	runs := r.List("run", true)
	same(t, "runs", len(runs), 2)
	same(t, "name", runs[0].Name()+"|"+runs[1].Name(), "Ridge|")
	runs[0].Text("name", true)
	for i, s := range runs[0].List("section", true) {
		same(t, "section", s.Path(), fmt.Sprintf(`run "Ridge".section[%d]`, i+1))
		s.Quantity("bore", quantity.Length, true)
	}
	same(t, "absent list", len(runs[1].List("section", false)), 0)
	same(t, "keys", fmt.Sprint(runs[1].Keys()), "[bore]")
	same(t, "has", runs[1].Has("bore") && !runs[1].Has("wall"), true)
	raw, line, column, ok := r.Raw("altitude")
	same(t, "raw", fmt.Sprint(raw, line, column, ok), "450 m7 12 true")
	raw, _, _, _ = r.Raw("factor")
	same(t, "raw number", raw, "1_000.5")
	if _, _, _, ok := r.Raw("levels"); ok {
		same(t, "ok", ok, true)
		t.Error("a list has a raw text")
	}
	for _, gone := range []string{"nil", "none"} {
		if _, ok := r.Text(gone, false); ok {
			same(t, "ok", ok, true)
			t.Error("a key that is not there is read")
		}
	}
	r.Finish()
	told(t, "whole", d.Faults())
	same(t, "bytes", string(d.Bytes()), whole)
}

func TestWrongTypes(t *testing.T) {
	type read func(r *Table) bool
	q := func(k quantity.Kind) read {
		return func(r *Table) bool { _, ok := r.Quantity("a", k, true); return ok }
	}
	text := func(r *Table) bool { _, ok := r.Text("a", true); return ok }
	choice := func(r *Table) bool { _, ok := r.Choice("a", true, "pumping", "standing"); return ok }
	boolean := func(r *Table) bool { _, ok := r.Bool("a", true); return ok }
	integer := func(r *Table) bool { _, ok := r.Int("a", true); return ok }
	float := func(r *Table) bool { _, ok := r.Float("a", true); return ok }
	date := func(r *Table) bool { _, ok := r.Date("a", true); return ok }
	sub := func(r *Table) bool { _, ok := r.Sub("a", true); return ok }
	list := func(r *Table) bool { return len(r.List("a", true)) > 0 }
	money := func(r *Table) bool { _, _, ok := r.Money("a", quantity.Money, true); return ok }
	many := func(r *Table) bool { _, ok := r.Quantities("a", quantity.Length, true); return ok }
	texts := func(r *Table) bool { _, ok := r.Texts("a", true); return ok }
	rows := func(r *Table) bool { _, ok := r.Rows("a", true, quantity.Flow, quantity.Length); return ok }
	for _, c := range []struct {
		text string
		read read
		want []string
	}{
		{`a = 450`, q(quantity.Length), []string{`1:5: a: "450" is not a length: no unit. Write "450 mm" or "450 m".`}},
		{`a = 1_000`, q(quantity.Length), []string{`1:5: a: "1_000" is not a length: underscores`}}, {`a = nan`, q(quantity.Length), []string{`1:5: a: "nan" is not a length: nan is not a figure`}},
		{`a = true`, q(quantity.Length), []string{`1:5: a: should be a length: found true or false, true. Write "450 mm".`}}, {`a = ["1 m"]`, q(quantity.Length), []string{`1:5: a: should be a length: found a list.`}},
		{`a = 2026-01-01`, q(quantity.Length), []string{`1:5: a: should be a length: found a date, 2026-01-01`}}, {`a = {b = 1}`, q(quantity.Length), []string{`1:5: a: should be a length: found a table`}},
		{"[[a]]", q(quantity.Length), []string{`1:3: a: should be a length: found a list of tables`}}, {`b = 1`, q(quantity.Length), []string{`1:1: a: is missing. Write a = "450 mm".`}},
		{`a = "12 L/s"`, q(quantity.Length), []string{`1:5: a: "12 L/s" is not a length: L/s is a unit of a flow`}},
		{`a = 3`, text, []string{`1:5: a: should be a text: found a whole number, 3. Write it in quotation marks: "3".`}}, {`a = "  "`, text, []string{`1:5: a: the text is empty.`}}, {`a = []`, text, []string{`1:5: a: should be a text: found a list`}},
		{`b = 1`, text, []string{`1:1: a: is missing. Write a = "…".`}},
		{`a = "pumpimg"`, choice, []string{`1:5: a: "pumpimg" is not a choice here: the choices are "pumping" or "standing". Write "pumping".`}}, {`a = "zzzz"`, choice, []string{`1:5: a: "zzzz" is not a choice here. Write "pumping" or "standing".`}},
		{`a = "Standing"`, choice, []string{`1:5: a: …Write "standing".`}}, {`a = "рumping"`, choice, []string{`1:5: a: …only looks like a plain one: "р" (U+0440, Cyrillic). Write "pumping".`}}, {`a = 1`, choice, []string{`1:5: a: should be one of "pumping" or "standing"`}},
		{`a = "true"`, boolean, []string{`1:5: a: should be true or false: found the text "true". Write it without quotation marks`}}, {`a = 1`, boolean, []string{`1:5: a: should be true or false`}},
		{`a = "3"`, integer, []string{`1:5: a: should be a whole number: found the text "3". Write 3 without`}}, {`a = 3.0`, integer, []string{`1:5: a: …found a decimal number, 3.0. Write 3.`}}, {`a = 3.5`, integer, []string{`1:5: a: …Write a whole number.`}},
		{`a = 99999999999999999999`, integer, []string{`1:5: a: "99999999999999999999" is too large`}},
		{`a = nan`, float, []string{`1:5: a: "nan" is not a number that can be used: nan is not`}}, {`a = -inf`, float, []string{`1:5: a: "-inf"…beyond ±1e300`}}, {`a = 1e999`, float, []string{`1:5: a: "1e999"…beyond`}}, {`a = 1e-999`, float, []string{`1:5: a: …nearer to zero`}},
		{`a = "0.5"`, float, []string{`1:5: a: should be a number: found the text "0.5". Write 0.5 without`}}, {`a = 99999999999999999999`, float, []string{`1:5: a: …too large`}},
		{`a = "25.11.2026"`, date, []string{`1:5: a: "25.11.2026" is not a date. Write 2026-11-25.`}}, {`a = "25/11/2026"`, date, []string{`1:5: a: …Write 2026-11-25.`}}, {`a = "11/25/2026"`, date, []string{`1:5: a: …Write 2026-11-25.`}},
		{`a = "3/4/2026"`, date, []string{`1:5: a: …the day or the month may come first. Write 2026-04-03 or 2026-03-04.`}}, {`a = 2026-02-30`, date, []string{`1:5: a: "2026-02-30" is not a date: there is no such day.`}},
		{`a = 2026-11-25T10:00:00`, date, []string{`1:5: a: should be a date: found a date with a time, 2026-11-25T10:00:00. Write the day alone: 2026-11-25.`}}, {`a = "soon"`, date, []string{`1:5: a: "soon" is not a date. Write year-month-day`}}, {`a = 2026`, date, []string{`1:5: a: should be a date`}},
		{`a = 1`, sub, []string{`1:5: a: should be one table: found a whole number, 1. Write a table [a].`}}, {"[[a]]", sub, []string{`1:3: a: …found a list of tables. Write it once, as [a].`}}, {`b = 1`, sub, []string{`1:1: a: is missing. Write a table [a].`}},
		{"[a]", list, []string{`1:2: a: should be a list of tables: found a table. Write its header as [[a]].`}}, {`a = []`, list, []string{`1:5: a: the list is empty.`}}, {`a = [1, {b = 2}]`, func(r *Table) bool { return len(r.List("a", true)) != 1 }, []string{`1:6: a[1]: should be a table: found a whole number, 1`}},
		{`b = 1`, list, []string{`1:1: a: is missing. Write a table [[a]].`}},
		{`a = 12`, money, []string{`1:5: a: "12" is not an amount of money: no currency. Write`}}, {`a = true`, money, []string{`1:5: a: should be an amount of money`}},
		{`a = "1 m"`, many, []string{`1:5: a: should be a list of texts: found the text "1 m". Write a = ["450 mm", …].`}}, {`a = ["1 m", 2, "3", true]`, many, []string{`1:13: a[2]: "2" is not a length: no unit`, `1:16: a[3]: "3" is not`, `1:21: a[4]: should be a length: found true or false`}},
		{`a = ["x", 1, ""]`, texts, []string{`1:11: a[2]: should be a text`, `1:14: a[3]: the text is empty`}},
		{`a = [["1 L/s", "2 m"], ["1 L/s"], "x", ["1 m", "2"]]`, rows, []string{`1:24: a[2]: a row of 1, where 2 are asked for. Write ["12 L/s", "450 mm"].`, `1:35: a[3]: should be a row`, `1:41: a[4][1]: "1 m" is not a flow`, `1:48: a[4][2]: "2" is not a length`}},
		{`a = "x"`, rows, []string{`1:5: a: should be a list of rows: found the text "x". Write a = [["12 L/s", "450 mm"], …].`}},
	} {
		d := parsed(t, c.text)
		if c.read(d.Root()) {
			t.Errorf("%s is accepted", c.text)
		}
		told(t, c.text, d.Faults(), c.want...)
	}
}

func TestReport(t *testing.T) {
	d := parsed(t, whole)
	r := d.Root()
	r.Report("altitude", Fault{What: "too high"})
	r.Report("", Fault{What: "on the whole", Severity: WarningSeverity, ID: "x.y"})
	r.Report("curve[2][1]", Fault{What: "the curve rises"})
	r.Report("curve[9]", Fault{What: "no such row"})
	r.Report("gone", Fault{What: "not there"})
	r.List("run", true)[0].List("section", true)[1].Report("bore", Fault{What: "too small"})
	r.Report("title", Fault{File: "other.csv", Line: 3, What: "elsewhere", Key: "row 3"})
	told(t, "report", d.Faults(), `1:1: warning x.y: on the whole.`, `1:1: gone: not there`, `7:12: altitude: too high.`, `13:9: curve[9]: no such row.`, `15:4: curve[2][1]: the curve rises.`, `28:8: run "Ridge".section[2].bore: too small.`, `3: row 3: elsewhere`)
}

func TestFinish(t *testing.T) {
	d := parsed(t, `titel = "x"
bore = "1 m"
[tank]
levl = "1 m"
[[rum]]
[[rum]]
[[run]]
"bоre" = "450 mm"
name = "A"
zzz = 1
[[run]]
bore = "1 m"
wall = "2 mm"
"wаll" = "3 mm"
`)
	r := d.Root()
	r.Text("title", true)
	r.Quantity("bore", quantity.Length, true)
	tank, _ := r.Sub("tank", true)
	tank.Quantity("level", quantity.Length, true)
	for _, run := range r.List("run", true) {
		run.Text("name", false)
		run.Quantity("bore", quantity.Length, true)
		run.Quantity("wall", quantity.Length, false)
	}
	r.Finish()
	r.Finish()
	told(t, "finish", d.Faults(),
		`1:1: titel: unknown key. Write title.`,
		`4:1: tank.levl: unknown key. Write level.`,
		`5:3: rum: unknown table: there are 2 of them. Write run.`,
		`8:1: run "A"."bоre": unknown key: it has a letter that only looks like a plain one: "о" (U+043E, Cyrillic). Write bore.`,
		`10:1: run "A".zzz: unknown key. Known here: name, bore, wall.`,
		`14:1: run[2]."wаll": unknown key: it has a letter that only looks like a plain one: "а" (U+0430, Cyrillic). Write wall.`)
}

func TestMissingOnce(t *testing.T) {
	d := parsed(t, "[a]\n")
	a, _ := d.Root().Sub("a", true)
	a.Text("x", true)
	a.Quantity("x", quantity.Length, true)
	told(t, "missing", d.Faults(), `1:2: a.x: is missing.`)
}

func TestManyFaults(t *testing.T) {
	d := parsed(t, "a = ["+strings.Repeat("1, ", 3000)+"]\n")
	d.Root().Quantities("a", quantity.Length, true)
	faults := d.Faults()
	if len(faults) != mostFaults+1 || !slices.ContainsFunc(faults, func(f Fault) bool { return strings.Contains(f.What, "more than 1000") }) {
		t.Errorf("%d faults", len(faults))
	}
}
