package survey

import (
	"strings"

	"obvert/line"
	"obvert/quantity"
)

// readPlaced reads a table of air valves or of other equipment: a piece a row.
func (e *equipmentTable) readPlaced(r *Reading, rows []int) {
	for _, i := range rows {
		at, placed := e.figure(i, roleChainage)
		if !placed && e.word(i, roleChainage) == "" {
			e.fault(i, e.column(roleChainage), "the chainage is missing", "", `write where it stands, such as "1+250"`)
		}
		kind, air := line.EquipmentKind(0), e.kind == kindValves
		if e.only != nil {
			kind, air = *e.only, false
		}
		if e.has(roleKind) {
			var ok bool
			if kind, air, ok = e.kindIn(i); !ok {
				continue
			}
		}
		if air {
			v := Valve{Name: e.word(i, roleName), Run: e.word(i, roleRun), Chainage: at, Type: e.word(i, roleType), Remark: e.word(i, roleRemark), Origin: e.origin(i)}
			v.Height, v.HasHeight = e.figure(i, roleHeight)
			r.Valves = append(r.Valves, v)
			continue
		}
		r.Fittings = append(r.Fittings, e.fitting(i, kind, at))
	}
}

// kindIn reads the kind of a row.
func (e *equipmentTable) kindIn(i int) (k line.EquipmentKind, air, ok bool) {
	c := e.column(roleKind)
	text := e.word(i, roleKind)
	if text == "" {
		e.fault(i, c, "the kind of equipment is missing", "", "write one of "+strings.Join(kindNames(), ", "))
		return 0, false, false
	}
	k, air, ok = kindOf(text)
	if !ok {
		hint := "write one of " + strings.Join(kindNames(), ", ")
		if near, found := quantity.Nearest(text, kindNames()); found {
			hint = "write " + quantity.Quote(near)
		}
		e.fault(i, c, quantity.Quote(text)+" is no kind of equipment that is known", "", hint)
	}
	return k, air, ok
}

// fitting reads a piece of equipment with what its kind needs.
func (e *equipmentTable) fitting(i int, kind line.EquipmentKind, at float64) Fitting {
	f := Fitting{Name: e.word(i, roleName), Kind: kind, Run: e.word(i, roleRun), Chainage: at, Remark: e.word(i, roleRemark), Origin: e.origin(i)}
	f.Loss, f.HasLoss = e.plainNumber(i, roleLoss, 0, 1e6)
	need := func(role, what string) (v float64) {
		v, given := e.positive(i, role)
		if !given && e.word(i, role) == "" {
			e.fault(i, e.column(role), "a "+kind.String()+" without its "+what, "", "write the "+what+" in a column headed "+quantity.Quote(capital(role)))
		}
		return v
	}
	switch kind {
	case line.Scour:
		if e.word(i, roleBore) == "" && e.word(i, roleSize) != "" {
			f.Bore, _ = e.figureAt(i, e.column(roleSize), quantity.Length)
		} else {
			f.Bore = need(roleBore, "bore")
		}
	case line.SustainingValve, line.ReducingValve:
		f.Setting = need(roleSetting, "setting")
	case line.FlowControlValve:
		f.Flow = need(roleFlow, "flow")
	}
	if kind != line.Scour {
		f.Bore, _ = e.positive(i, roleBore)
	}
	f.Closed = e.closed(i, kind)
	return f
}

// stateWords are what a valve's state is called, folded.
var stateWords = map[string]bool{"closed": true, "shut": true, "normally closed": true, "nc": true, "zu": true, "geschlossen": true, "ferme": true, "fermee": true, "cerrada": true, "cerrado": true,
	"chiusa": true, "chiuso": true, "fechada": true, "gesloten": true, "yes": true, "true": true,
	"open": false, "normally open": false, "no": false, "auf": false, "offen": false, "ouvert": false, "ouverte": false, "abierta": false, "abierto": false, "aperta": false, "aperto": false,
	"aberta": false, "false": false, "": false}

// closed reads whether an isolating valve is shut.
func (e *equipmentTable) closed(i int, kind line.EquipmentKind) bool {
	text := e.word(i, roleState)
	words := strings.Join(headWords(text), " ")
	shut, known := stateWords[words]
	if c := e.column(roleState); c >= 0 && (words == "yes" || words == "no") {
		head := strings.Join(headWords(e.heads[c].text), " ")
		switch head {
		case "closed":
			shut = words == "yes"
		case "open":
			shut = words == "no"
		default: // "no" for normally open, among such
			known = words == "no"
		}
	}
	switch {
	case !known:
		hint := `write "open" or "closed"`
		if near, ok := quantity.Nearest(text, []string{"open", "closed"}); ok {
			hint = "write " + quantity.Quote(near)
		}
		e.fault(i, e.column(roleState), quantity.Quote(text)+" is no state of a valve", "", hint)
		return false
	case shut && kind != line.IsolatingValve:
		e.fault(i, e.column(roleState), "a "+kind.String()+" that is closed", "only an isolating valve can be", "leave it out, or mend the kind")
		return false
	}
	return shut
}
