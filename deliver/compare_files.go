package deliver

import (
	"encoding/csv"
	"fmt"
	"io"
	"reflect"

	"obvert/study"
)

// comparedDocument is what the JSON of a comparison holds.
type comparedDocument struct {
	Format     int `unit:"1"`
	Comparison *study.Comparison
}

// CompareJSON writes a comparison, with the keys and numbers of [JSON].
func CompareJSON(w io.Writer, c *study.Comparison) error {
	e := &encoder{}
	if err := e.value(reflect.ValueOf(comparedDocument{Format, c}), "", 0); err != nil {
		return fmt.Errorf("deliver: JSON: %w", err)
	}
	e.b.WriteByte('\n')
	_, err := w.Write(e.b.Bytes())
	return err
}

// comparedHead are the columns of the CSV that stand before the figures of a type.
var comparedHead = []string{"Name", "SealingBound", "Sealing", "SealingExpanded", "LettingGoBound", "LettingGo", "LettingGoExpanded"}

// CompareCSV writes the figures of a comparison: one row for each type, one column for each figure with its unit in the head and, beside it, whether it is known, a
// least one ("at least") or not ("no": the figure is empty). Otherwise as [ScheduleCSV].
func CompareCSV(w io.Writer, c *study.Comparison) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	typ := reflect.TypeFor[study.ComparedType]()
	for i := range c.Types {
		var heads, cells []string
		add := func(head string, v reflect.Value) error {
			s, err := cellText(v)
			if err != nil {
				return fmt.Errorf("deliver: comparison: type %q, %s: %w", c.Types[i].Name, head, err)
			}
			heads, cells = append(heads, head), append(cells, s)
			return nil
		}
		row := reflect.ValueOf(c.Types[i])
		for _, name := range comparedHead {
			f, _ := typ.FieldByName(name)
			v := row.FieldByIndex(f.Index)
			if v.Kind() == reflect.Uint8 {
				word, err := wordOf(v)
				if err != nil {
					return err
				}
				v = reflect.ValueOf(word)
			}
			if err := add(jsonKey(f), v); err != nil {
				return err
			}
		}
		for k := range typ.NumField() {
			f := typ.Field(k)
			m, ok := row.Field(k).Interface().(study.Measure)
			if !ok {
				continue
			}
			key := snake(f.Name)
			if u := unitKey(m.Unit); u != "" {
				key += "_" + u
			}
			value, how := reflect.ValueOf(m.Value), "yes"
			switch {
			case m.Least:
				how = "at least"
			case !m.Known:
				value, how = reflect.ValueOf(""), "no"
			}
			if err := add(key, value); err != nil {
				return err
			}
			if err := add(snake(f.Name)+"_known", reflect.ValueOf(how)); err != nil {
				return err
			}
		}
		if i == 0 {
			if err := out.Write(heads); err != nil {
				return err
			}
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
