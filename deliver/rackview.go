package deliver

import (
	"sort"

	"obvert/line"
	"obvert/physics/valve"
	"obvert/study"
)

// rackView is the rack as the drawings show it: types in rising order of their sealing head, each with a short name.
type rackView struct {
	types    []typeView
	byRecord map[int]int // index into types by index into the rack
	lettered bool        // the short names are letters, not the records' own names
}

// typeView is one type of the rack in metres of the line's water.
type typeView struct {
	record    int
	name      string // of the record
	short     string
	sealing   headValue
	lettingGo headValue
}

// headValue is a threshold in metres of the water in hand.
type headValue struct {
	bound    valve.Bound
	mean     float64 // m
	expanded float64 // expanded uncertainty of the mean, k = 2, m
}

// text is the head as written in tables: a figure, a bound, or why there is none.
func (h headValue) text() string {
	switch h.bound {
	case valve.Measured:
		return rulerText(h.mean)
	case valve.MoreThan:
		return "> " + rulerText(h.mean)
	case valve.LessThan:
		return "< " + rulerText(h.mean)
	case valve.NotApplicable:
		return "none"
	}
	return "not known"
}

func (h headValue) known() bool {
	return h.bound == valve.Measured || h.bound == valve.MoreThan || h.bound == valve.LessThan
}

func headOf(t valve.Threshold, site line.Site) headValue {
	if site.Density <= 0 || site.Gravity <= 0 {
		return headValue{}
	}
	return headValue{bound: t.Bound, mean: site.Head(t.Mean), expanded: 2 * site.Head(t.Uncertainty)}
}

// shortest names a drawing can hold beside a mark.
const widestType = 22 // px, at faceLabelB

// newRackView sorts the rack: known sealing heads by size, then the bounds, then the unknown, equal ones by name.
func newRackView(r *study.Result) *rackView {
	v := &rackView{byRecord: map[int]int{}}
	for i, rec := range r.Line.Rack {
		v.types = append(v.types, typeView{record: i, name: rec.Name, short: rec.Name,
			sealing: headOf(rec.Sealing, r.Line.Site), lettingGo: headOf(rec.LettingGo, r.Line.Site)})
		v.lettered = v.lettered || faceLabelB.width(rec.Name) > widestType || rec.Name == ""
	}
	rank := func(t typeView) int {
		switch t.sealing.bound {
		case valve.Measured, valve.LessThan:
			return 0
		case valve.MoreThan:
			return 1
		}
		return 2
	}
	sort.SliceStable(v.types, func(i, j int) bool {
		a, b := v.types[i], v.types[j]
		if rank(a) != rank(b) {
			return rank(a) < rank(b)
		}
		if a.sealing.mean != b.sealing.mean {
			return a.sealing.mean < b.sealing.mean
		}
		return a.name < b.name
	})
	for i := range v.types {
		if v.lettered {
			v.types[i].short = letters(i)
		}
		v.byRecord[v.types[i].record] = i
	}
	return v
}

// of is the type of a rack record, nil where none is chosen.
func (v *rackView) of(record int) *typeView {
	if i, ok := v.byRecord[record]; ok {
		return &v.types[i]
	}
	return nil
}

// named is the type of a record's name, nil where the rack has none.
func (v *rackView) named(name string) *typeView {
	for i := range v.types {
		if v.types[i].name == name {
			return &v.types[i]
		}
	}
	return nil
}

// full is a type's letter with its name where they differ.
func (t *typeView) full() string {
	if t == nil {
		return "none chosen"
	}
	if t.short == t.name {
		return t.name
	}
	return t.short + ", " + t.name
}
