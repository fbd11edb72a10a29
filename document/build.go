package document

import "fmt"

// twice reports a key that stands in its table already.
func (b *builder) twice(t *Table, it, first *item) {
	line, _ := b.doc.place(first.keyAt)
	b.fault(it.keyAt, Fault{Key: t.pathTo(bareOrQuoted(it.key)), What: "the key stands twice in its table", Understood: fmt.Sprintf("it is on line %d already", line), Hint: "keep one of the two"})
}

// dotted walks down the parts before the last of a dotted key, making tables on
// its way; nil if that cannot be.
func (b *builder) dotted(t *Table, parts []part) *Table {
	section := t
	for i, p := range parts[:len(parts)-1] {
		it := t.find(p.key)
		if it == nil {
			c := t.child(p.key, 0, p.at, dottedOrigin)
			c.section, c.lost = section.section, t.lost
			c.prefix = prefixOf(parts[:i+1])
			t.add(&item{key: p.key, keyAt: p.at, value: value{kind: tableKind, at: p.at, table: c}})
			t = c
			continue
		}
		if it.value.kind == brokenKind {
			return nil
		}
		if it.value.kind != tableKind || it.value.table.origin != dottedOrigin {
			b.clash(t, p, it)
			return nil
		}
		t = it.value.table
	}
	return t
}

func prefixOf(parts []part) []string {
	out := make([]string, len(parts))
	for i, p := range parts {
		out[i] = p.key
	}
	return out
}

// clash reports a key that is something else already.
func (b *builder) clash(t *Table, p part, it *item) {
	line, _ := b.doc.place(it.keyAt)
	b.fault(p.at, Fault{Key: t.pathTo(bareOrQuoted(p.key)), What: "nothing can be added to it here",
		Understood: fmt.Sprintf("it is %s since line %d", it.value.kind, line), Hint: "write its keys in one place"})
}

// header opens the table that [a.b] or [[a.b]] names.
func (b *builder) header(parts []part, list bool, end int) {
	t := b.doc.root
	for _, p := range parts[:len(parts)-1] {
		if t = b.descend(t, p); t == nil {
			b.limbo(end)
			return
		}
	}
	last := parts[len(parts)-1]
	it := t.find(last.key)
	switch {
	case it == nil:
		b.open(t, last, list, end)
	case it.value.kind == brokenKind:
		b.limbo(end)
	case list && it.value.kind == tablesKind:
		b.element(t, it, last, end)
	case !list && it.value.kind == tableKind && it.value.table.origin == impliedOrigin:
		c := it.value.table
		c.origin, c.at, c.begin = headerOrigin, last.at, b.behindLine(end)
		it.keyAt, it.value.at = last.at, last.at
		b.current = c
	default:
		b.reopened(t, last, it, list)
		b.limbo(end)
	}
}

// descend finds or makes the table of a part before the last.
func (b *builder) descend(t *Table, p part) *Table {
	it := t.find(p.key)
	if it == nil {
		c := t.child(p.key, 0, p.at, impliedOrigin)
		t.add(&item{key: p.key, keyAt: p.at, value: value{kind: tableKind, at: p.at, table: c}})
		return c
	}
	switch {
	case it.value.kind == tableKind && it.value.table.origin != inlineOrigin:
		return it.value.table
	case it.value.kind == tablesKind:
		return it.value.list[len(it.value.list)-1].table
	case it.value.kind != brokenKind:
		b.clash(t, p, it)
	}
	return nil
}

func (b *builder) open(t *Table, p part, list bool, end int) {
	it := &item{key: p.key, keyAt: p.at, value: value{kind: tablesKind, at: p.at}}
	t.add(it)
	if list {
		b.element(t, it, p, end)
		return
	}
	c := t.child(p.key, 0, p.at, headerOrigin)
	c.begin = b.behindLine(end)
	it.value.kind, it.value.table = tableKind, c
	b.current = c
}

func (b *builder) element(t *Table, it *item, p part, end int) {
	c := t.child(p.key, len(it.value.list)+1, p.at, headerOrigin)
	c.begin = b.behindLine(end)
	it.value.list = append(it.value.list, value{kind: tableKind, at: p.at, table: c})
	b.current = c
}

// reopened reports a header whose table exists already.
func (b *builder) reopened(t *Table, p part, it *item, list bool) {
	line, _ := b.doc.place(it.keyAt)
	key := bareOrQuoted(p.key)
	f := Fault{Key: t.pathTo(key), What: "the table stands twice", Understood: fmt.Sprintf("it began on line %d", line)}
	switch {
	case list && it.value.kind == tableKind:
		f.What, f.Hint = "one table became a list of tables", "write [["+key+"]] in both places"
	case it.value.kind == tablesKind:
		f.What, f.Hint = "a list of tables became one table", "write [["+key+"]] in both places"
	case it.value.kind == tableKind:
		f.Hint = "keep its keys in one place, or write [[" + key + "]] where there are several"
	default:
		f.What, f.Understood, f.Hint = "the key is not a table", fmt.Sprintf("it is %s since line %d", it.value.kind, line), "give one of the two another name"
	}
	b.fault(p.at, f)
}

// limbo takes the keys of a table that could not be opened; nobody reads them.
func (b *builder) limbo(end int) {
	b.current = &Table{doc: b.doc, origin: headerOrigin, lost: true, at: end, begin: b.behindLine(end)}
	b.current.section = b.current
}

// behindLine is the offset of the line after the one an offset stands on.
func (b *builder) behindLine(at int) int { return b.doc.nextLine(at) }

func (d *Doc) nextLine(at int) int {
	for at < len(d.data) && d.data[at] != '\n' {
		at++
	}
	return min(at+1, len(d.data))
}
