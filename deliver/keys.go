package deliver

import (
	"fmt"
	"reflect"
	"strings"
	"unicode"

	"obvert/line"
	"obvert/physics/valve"
)

// jsonKey is the JSON key of a struct field: its name in lower case with underscores, and its unit.
func jsonKey(f reflect.StructField) string {
	k := snake(f.Name)
	if u := unitKey(f.Tag.Get("unit")); u != "" {
		k += "_" + u
	}
	return k
}

// snake turns PressureHead into pressure_head and NPSHRequired into npsh_required.
func snake(name string) string {
	r := []rune(name)
	var b strings.Builder
	for i, c := range r {
		if unicode.IsUpper(c) && i > 0 && (unicode.IsLower(r[i-1]) || i+1 < len(r) && unicode.IsLower(r[i+1])) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToLower(c))
	}
	return b.String()
}

var unitLetters = strings.NewReplacer("²", "2", "³", "3", "·", "_", "/", "_", "(", "", ")", "", ",", "_", "µ", "u", "°", "deg_", "%", "percent")

// unitKey is a unit as part of a key: m³/s becomes m3_s, 1/kWh per_kwh; a dimensionless figure has none.
func unitKey(u string) string {
	if u == "" || u == "1" {
		return ""
	}
	if rest, ok := strings.CutPrefix(u, "1/"); ok {
		return "per_" + unitKey(rest)
	}
	return strings.ToLower(strings.ReplaceAll(unitLetters.Replace(u), ",1", ""))
}

// words are the texts of the counted types that have no String method of their own.
var words = map[reflect.Type][]string{
	reflect.TypeFor[line.NodeKind]():      {"junction", "off-take", "tank", "station", "outfall", "dead end"},
	reflect.TypeFor[line.Inlet]():         {"below water", "over the top"},
	reflect.TypeFor[line.CheckValves]():   {"each", "shared", "none"},
	reflect.TypeFor[line.LevelKind]():     {"obvert", "invert", "axis", "ground"},
	reflect.TypeFor[line.EquipmentKind](): {"isolating valve", "check valve", "sustaining valve", "reducing valve", "scour", "flow-control valve"},
	reflect.TypeFor[line.CaseKind]():      {"pumping", "gravity", "standing", "filling"},
	reflect.TypeFor[valve.Bound]():        {"unknown", "measured", "more than", "less than", "not applicable"},
}

// wordOf is the text of a counted value.
func wordOf(v reflect.Value) (string, error) {
	if s, ok := v.Interface().(fmt.Stringer); ok {
		return s.String(), nil
	}
	w := words[v.Type()]
	if i := v.Uint(); i < uint64(len(w)) {
		return w[i], nil
	}
	if n, ok := enumWords[v.Type().String()]; ok && v.Uint() < uint64(len(n)) {
		return n[v.Uint()], nil
	}
	return "", fmt.Errorf("no word for %s %d", v.Type(), v.Uint())
}

// enumWords holds the same for types known by name only.
var enumWords = map[string][]string{
	"bench.MarkKind": {"change", "look"},
	"siting.Verdict": {"placed", "displaced", "missing"},
	"sealing.Rule":   {"none", "rising", "falling"},
	"costing.Kind":   {"accept the leak", "lower sealing head", "sustaining valve", "sustaining valve and pumps", "higher terminal level", "larger pumps", "relocation", "regrading"},
	"costing.Status": {"compared", "only way", "no order", "no base", "all hold"},
}
