package document

import (
	"fmt"
	"strings"

	"obvert/quantity"
)

// Finish reports every key of the table that nobody asked for, with the nearest
// key that was, and goes on into the tables that were read. Where a misspelt key
// explains a missing one, one fault is told instead of two. To be called once,
// on the root, when everything was read.
func (t *Table) Finish() {
	if t.finished {
		return
	}
	t.finished = true
	for _, it := range t.items {
		switch {
		case !t.asked[it.key]:
			t.unknown(it)
		case it.value.table != nil:
			it.value.table.Finish()
		default:
			for _, e := range it.value.list {
				if e.table != nil {
					e.table.Finish()
				}
			}
		}
	}
}

// unknown reports a key that nobody asked for.
func (t *Table) unknown(it *item) {
	f := Fault{Key: t.pathTo(bareOrQuoted(it.key)), What: "unknown key"}
	switch it.value.kind {
	case tableKind:
		f.What = "unknown table"
	case tablesKind:
		f.What = "unknown table"
		if n := len(it.value.list); n > 1 {
			f.Understood = fmt.Sprintf("there are %d of them", n)
		}
	}
	plain, odd := quantity.LookAlikes(it.key)
	if len(odd) > 0 {
		f.Understood = "it has a letter that only looks like a plain one: " + strings.Join(odd, ", ")
	}
	if near, ok := t.meant(plain); ok {
		f.Hint = "write " + bareOrQuoted(near)
		if i, told := t.missed[near]; told && i >= 0 {
			t.doc.takeBack(i)
			delete(t.missed, near)
		}
	} else if len(t.order) > 0 && len(t.order) <= 12 {
		f.Hint = "known here: " + strings.Join(t.order, ", ")
	} else {
		f.Hint = "leave it out, or make it a comment with #"
	}
	t.doc.report(it.keyAt, f)
}

// meant finds the known key a word stands for: first among those not there.
func (t *Table) meant(word string) (string, bool) {
	var absent []string
	for _, k := range t.order {
		if t.find(k) == nil {
			absent = append(absent, k)
		}
	}
	if near, ok := Nearest(word, absent); ok {
		return near, true
	}
	return Nearest(word, t.order)
}

// takeBack withdraws a fault.
func (d *Doc) takeBack(i int) {
	if d.void == nil {
		d.void = map[int]bool{}
	}
	d.void[i] = true
}
