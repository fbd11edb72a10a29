package document

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"

	"obvert/quantity"
)

// get marks a key as known and returns its value. Where it is not there and
// required, that is reported, with the hint.
func (t *Table) get(key string, required bool, hint string) (value, bool) {
	t.ask(key)
	it := t.find(key)
	if it == nil {
		if required && !t.lost {
			t.miss(key, hint)
		}
		return value{}, false
	}
	return it.value, it.value.kind != brokenKind
}

func (t *Table) miss(key, hint string) {
	if _, told := t.missed[key]; told {
		return
	}
	i := t.doc.report(t.at, Fault{Key: t.pathTo(bareOrQuoted(key)), What: "is missing", Hint: hint})
	if t.missed == nil {
		t.missed = map[string]int{}
	}
	t.missed[key] = i
}

// wrong reports a value of another type than the one asked for. What stands in it
// is not told as well: nobody read it.
func (t *Table) wrong(path string, v value, want, hint string) {
	if v.table != nil {
		v.table.finished = true
	}
	for _, e := range v.list {
		if e.table != nil {
			e.table.finished = true
		}
	}
	if v.kind == brokenKind {
		return
	}
	t.doc.report(v.at, Fault{Key: t.pathTo(path), What: "should be " + want, Understood: "found " + v.describe(), Hint: hint})
}

// describe names a value for a message: `the text "450"`, "a list".
func (v value) describe() string {
	switch v.kind {
	case textKind:
		return "the text " + quantity.Quote(v.text)
	case boolKind, intKind, floatKind, dateKind, dateTimeKind, timeKind:
		return v.kind.String() + ", " + v.text
	}
	return v.kind.String()
}

// Text reads a text that is not empty.
func (t *Table) Text(key string, required bool) (string, bool) {
	v, ok := t.get(key, required, "write "+bareOrQuoted(key)+` = "…"`)
	if !ok {
		return "", false
	}
	return t.text(bareOrQuoted(key), v)
}

func (t *Table) text(path string, v value) (string, bool) {
	if v.kind != textKind {
		hint := "write one text in quotation marks"
		if v.text != "" {
			hint = "write it in quotation marks: " + quantity.Quote(v.text)
		}
		t.wrong(path, v, "a text", hint)
		return "", false
	}
	if strings.TrimSpace(v.text) == "" {
		t.doc.report(v.at, Fault{Key: t.pathTo(path), What: "the text is empty"})
		return "", false
	}
	return v.text, true
}

// Choice reads a text that is one of the choices.
func (t *Table) Choice(key string, required bool, choices ...string) (string, bool) {
	list := orList(choices)
	v, ok := t.get(key, required, "write "+list)
	if !ok {
		return "", false
	}
	if v.kind != textKind {
		t.wrong(bareOrQuoted(key), v, "one of "+list, "write it in quotation marks")
		return "", false
	}
	if slices.Contains(choices, v.text) {
		return v.text, true
	}
	f := Fault{Key: t.pathTo(bareOrQuoted(key)), What: quantity.Quote(v.text) + " is not a choice here", Hint: "write " + list}
	plain, odd := quantity.LookAlikes(v.text)
	if near, ok := Nearest(strings.TrimSpace(plain), choices); ok {
		f.Understood, f.Hint = "the choices are "+list, "write "+strconv.Quote(near)
	}
	if len(odd) > 0 {
		f.Understood = "it has a letter that only looks like a plain one: " + strings.Join(odd, ", ")
	}
	t.doc.report(v.at, f)
	return "", false
}

// orList joins words: "a", "b" or "c".
func orList(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = strconv.Quote(w)
	}
	if len(quoted) < 2 {
		return strings.Join(quoted, "")
	}
	return strings.Join(quoted[:len(quoted)-1], ", ") + " or " + quoted[len(quoted)-1]
}

// Bool reads true or false.
func (t *Table) Bool(key string, required bool) (v, ok bool) {
	x, ok := t.get(key, required, "write "+bareOrQuoted(key)+" = true or = false")
	if !ok {
		return false, false
	}
	if x.kind != boolKind {
		t.wrong(bareOrQuoted(key), x, "true or false", "write it without quotation marks: true or false")
		return false, false
	}
	return x.text == "true", true
}

// Int reads a whole number without unit.
func (t *Table) Int(key string, required bool) (int, bool) {
	v, ok := t.get(key, required, "write a whole number, such as "+bareOrQuoted(key)+" = 2")
	if !ok {
		return 0, false
	}
	if v.kind != intKind {
		hint := "write a whole number"
		if _, err := strconv.Atoi(v.text); err == nil && v.kind == textKind {
			hint = "write " + v.text + " without quotation marks"
		} else if whole, ok := strings.CutSuffix(v.text, ".0"); ok && v.kind == floatKind {
			hint = "write " + whole
		}
		t.wrong(bareOrQuoted(key), v, "a whole number", hint)
		return 0, false
	}
	n, err := strconv.ParseInt(v.text, 0, strconv.IntSize)
	if err != nil {
		t.doc.report(v.at, Fault{Key: t.pathTo(bareOrQuoted(key)), What: quantity.Quote(v.text) + " is too large for a whole number"})
		return 0, false
	}
	return int(n), true
}

// Float reads a dimensionless number: finite, its magnitude at most 1e300.
func (t *Table) Float(key string, required bool) (float64, bool) {
	v, ok := t.get(key, required, "write a number, such as "+bareOrQuoted(key)+" = 0.5")
	if !ok {
		return 0, false
	}
	if v.kind != intKind && v.kind != floatKind {
		hint := "write a number without unit"
		if _, err := strconv.ParseFloat(v.text, 64); err == nil && v.kind == textKind {
			hint = "write " + v.text + " without quotation marks"
		}
		t.wrong(bareOrQuoted(key), v, "a number", hint)
		return 0, false
	}
	x, fault := number(v)
	if fault != "" {
		t.doc.report(v.at, Fault{Key: t.pathTo(bareOrQuoted(key)), What: quantity.Quote(v.text) + " is not a number that can be used", Understood: fault, Hint: "write a number within ±1e300"})
		return 0, false
	}
	return x, true
}

// number reads a TOML number within the bounds.
func number(v value) (x float64, fault string) {
	if v.kind == intKind {
		n, err := strconv.ParseInt(v.text, 0, 64)
		if err != nil {
			return 0, "too large for a whole number"
		}
		return float64(n), ""
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(v.text, "_", ""), 64)
	switch {
	case math.IsNaN(x):
		return 0, "nan is not a figure"
	case err != nil || math.IsInf(x, 0) || math.Abs(x) > 1e300:
		return 0, "beyond ±1e300"
	case math.Abs(x) < 1e-300 && strings.ContainsAny(mantissa(v.text), "123456789"):
		return 0, "nearer to zero than 1e-300"
	}
	return x, ""
}

func mantissa(s string) string {
	m, _, _ := strings.Cut(strings.ToLower(s), "e")
	return m
}

// Quantity reads a text with a unit as a figure of the kind, in SI units.
func (t *Table) Quantity(key string, k quantity.Kind, required bool) (float64, bool) {
	v, ok := t.get(key, required, "write "+bareOrQuoted(key)+" = "+strconv.Quote(k.Example()))
	if !ok {
		return 0, false
	}
	return t.quantity(bareOrQuoted(key), v, k)
}

func (t *Table) quantity(path string, v value, k quantity.Kind) (float64, bool) {
	if !v.figureLike() {
		t.wrong(path, v, k.String(), "write "+strconv.Quote(k.Example()))
		return 0, false
	}
	x, err := quantity.Parse(k, v.text)
	if err == nil && v.kind == textKind {
		return x, true
	}
	t.refuse(path, v, k, err)
	return 0, false
}

// figureLike reports values that the parser of quantities can say something of.
func (v value) figureLike() bool {
	return v.kind == textKind || v.kind == intKind || v.kind == floatKind
}

// refuse passes a quantity's error on as a fault.
func (t *Table) refuse(path string, v value, k quantity.Kind, err error) {
	f := Fault{Key: t.pathTo(path), What: quantity.Quote(v.text) + " is not " + k.String(), Hint: "write it in quotation marks, with its unit"}
	var e *quantity.Error
	if errors.As(err, &e) {
		f.What, f.Understood, f.Hint = e.What(), e.Understood, e.Hint
	}
	t.doc.report(v.at, f)
}

// Money reads an amount of money, or a price, with its currency: the amount in
// the kind's SI unit and the ISO 4217 code.
func (t *Table) Money(key string, k quantity.Kind, required bool) (amount float64, currency string, ok bool) {
	v, ok := t.get(key, required, "write "+bareOrQuoted(key)+" = "+strconv.Quote(k.Example()))
	if !ok {
		return 0, "", false
	}
	if !v.figureLike() {
		t.wrong(bareOrQuoted(key), v, k.String(), "write "+strconv.Quote(k.Example()))
		return 0, "", false
	}
	amount, currency, err := quantity.ParseMoney(k, v.text)
	if err != nil || v.kind != textKind {
		t.refuse(bareOrQuoted(key), v, k, err)
		return 0, "", false
	}
	return amount, currency, true
}

// Raw returns a value as it was typed, for the report: a text without its
// quotation marks, any other scalar as it stands, and the place where it begins.
// Lists and tables have none. It counts as asking for the key.
func (t *Table) Raw(key string) (text string, line, column int, ok bool) {
	t.ask(key)
	it := t.find(key)
	if it == nil || it.value.kind > timeKind {
		return "", 0, 0, false
	}
	line, column = t.doc.place(it.value.at)
	return it.value.text, line, column, true
}

// Report adds a fault of the caller's own at a key's place: its value if the key
// is there, else the table. The key may name an element, "curve[2][1]", counted
// from 1; "" is the table itself. File, Line, Column and Key are filled in where
// they are empty.
func (t *Table) Report(key string, f Fault) {
	if f.Key == "" {
		f.Key = t.pathTo(pathOf(key))
	}
	t.doc.report(t.placeOf(key), f)
}

// pathOf quotes a key where TOML would, leaving its indices alone.
func pathOf(key string) string {
	if key == "" {
		return ""
	}
	name, tail := key, ""
	if i := strings.IndexByte(key, '['); i > 0 && strings.HasSuffix(key, "]") {
		name, tail = key[:i], key[i:]
	}
	return bareOrQuoted(name) + tail
}

// placeOf is the offset of a key's value, or of one of its elements.
func (t *Table) placeOf(key string) int {
	if it := t.find(key); it != nil {
		return it.value.at
	}
	name, tail, indexed := strings.Cut(key, "[")
	it := t.find(name)
	if !indexed || it == nil {
		return t.at
	}
	v := it.value
	for index := range strings.SplitSeq(strings.TrimSuffix(tail, "]"), "][") {
		n, err := strconv.Atoi(index)
		if err != nil || n < 1 || n > len(v.list) {
			break
		}
		v = v.list[n-1]
	}
	return v.at
}
