package survey

import (
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"obvert/line"
	"obvert/quantity"
)

// Roles of columns in tables of equipment.
const (
	roleStation    = "station"
	roleName       = "name"
	roleAlike      = "alike"
	roleFlow       = "flow"
	roleHead       = "head"
	roleEfficiency = "efficiency"
	roleNPSH       = "npsh"
	roleAxis       = "axis level"
	roleRun        = "run"
	roleFrom       = "from"
	roleTo         = "to"
	roleSize       = "size"
	roleBore       = "bore"
	roleWall       = "wall"
	roleMaterial   = "material"
	roleRoughness  = "roughness"
	roleHazen      = "Hazen-Williams C"
	roleRating     = "rating"
	roleChainage   = "chainage"
	roleKind       = "kind"
	roleType       = "type"
	roleHeight     = "seat height"
	roleSetting    = "setting"
	roleLoss       = "loss"
	roleState      = "state"
	roleRemark     = "remark"
)

// rolePhrases are the words of heads, folded as [headWords] does, for each role. The longest phrase that a head holds decides.
// English, German, French, Spanish, Italian, Portuguese and Dutch; common practice, no source.
var rolePhrases = func() map[string]string {
	out := map[string]string{}
	lists := map[string]string{
		roleStation: "station;pump station;pumping station;pumpwerk;pumpstation;station de pompage;estacion;estacion de bombeo;stazione;estacao;gemaal",
		roleName: "name;tag;id;no;nr;number;ref;reference;mark;pump;pump name;valve no;valve name;av no;bezeichnung;nummer;pumpe;nom;numero;repere;pompe;nombre;bomba;nome;pompa;naam;pomp;" +
			"air valve;air valve no;luftventil;ventouse;ventosa;sfiato;ontluchter;equipment no;item;item no;valve;valve id;pump no",
		roleAlike:      "alike;count;quantity;qty;number of pumps;no of pumps;units;pumps alike;anzahl;stuck;nombre de pompes;cantidad;unidades;quantita;quantidade;aantal",
		roleFlow:       "flow;q;discharge;capacity;flow rate;flowrate;delivery;duty flow;forderstrom;durchfluss;volumenstrom;debit;caudal;portata;vazao;debiet;flow setting;set flow",
		roleHead:       "head;h;total head;tdh;pump head;duty head;delivery head;forderhohe;hauteur;hmt;hauteur manometrique;altura;altura manometrica;prevalenza;opvoerhoogte",
		roleEfficiency: "efficiency;eta;eff;pump efficiency;wirkungsgrad;rendement;rendimiento;eficiencia;rendimento;η",
		roleNPSH:       "npsh;npshr;npsh required;npsh3;required npsh",
		roleAxis:       "axis level;axis;pump axis;impeller level;impeller eye;eye level;pump axis level;achshohe;pumpenachse;axe;niveau axe",
		roleRun:        "run;line;pipeline;main;strang;leitung;conduite;tronco;linea",
		roleFrom:       "from;from chainage;start;start chainage;ch from;chainage from;begin;beginning;von;von station;ab;de;du;pk debut;debut;desde;da;inicio;van",
		roleTo:         "to;to chainage;end;end chainage;ch to;chainage to;bis;bis station;a;au;pk fin;fin;hasta;fim;fine;tot;einde",
		roleSize:       "size;standard size;pipe size;pipe;nominal size;dn;nominal diameter;nennweite;dimension;diametre nominal;diametro nominal",
		roleBore:       "bore;internal diameter;inside diameter;inner diameter;id mm;internal bore;innendurchmesser;di;diametre interieur;diametro interior;diametro interno;binnendiameter;scour bore;valve bore",
		roleWall:       "wall;wall thickness;thickness;wanddicke;wandstarke;epaisseur;espesor;spessore;espessura;wanddikte",
		roleMaterial:   "material;pipe material;werkstoff;rohrwerkstoff;materiau;materiale;materiaal",
		roleRoughness:  "roughness;k;ks;k value;roughness k;rauheit;rauigkeit;rugosite;rugosidad;rugosita;rugosidade;ruwheid",
		roleHazen:      "hazen williams;hazen williams c;c hw;chw;c value;hw c;c",
		roleRating:     "rating;pressure rating;pn;pressure class;rated pressure;nenndruck;druckstufe;pression nominale;presion nominal;pressione nominale;pfa;pea;drukklasse",
		roleChainage:   "chainage;ch;station;stationing;stationierung;sta;pk;km;at;location;position;progresiva;progressiva;abscisa;kilometrage;kilometraje;estaca;metrage;metrering",
		roleKind:       "kind;kind of equipment;equipment;equipment type;category;art;armatur;armaturen;valve type;fitting;nature;genre;clase;categoria;tipo de equipo;soort",
		roleType:       "type;model;air valve type;typ;modell;modele;tipo;modelo;modello;record",
		roleHeight: "height;seat height;height of seat;seat;seat above obvert;height above obvert;height of seat above obvert;seat height above obvert;height above pipe;sitzhohe;hohe;hauteur siege;" +
			"altura asiento;altezza sede;tapping height",
		roleSetting: "setting;set point;setpoint;set pressure;pressure setting;set head;einstellung;sollwert;consigne;ajuste;consigna;taratura;regolazione",
		roleLoss:    "loss;loss coefficient;loss k;zeta;local loss;k loss;verlustbeiwert;coefficient de perte",
		roleState:   "state;status;closed;open;open closed;normally;normal position;stellung;zustand;etat;estado;stato",
		roleRemark: "remark;remarks;note;notes;comment;comments;bemerkung;bemerkungen;remarque;remarques;observation;observations;observaciones;commentaire;nota;note note;osservazioni;" +
			"description;beschreibung;opmerking",
	}
	for _, role := range slices.Sorted(maps.Keys(lists)) {
		for phrase := range strings.SplitSeq(lists[role], ";") {
			out[phrase] = out[phrase] + role + "|"
		}
	}
	return out
}()

// roleUnits are what the figures of a role measure; other roles are words or plain numbers.
var roleUnits = map[string]quantity.Kind{roleFlow: quantity.Flow, roleHead: quantity.Length, roleEfficiency: quantity.Ratio, roleNPSH: quantity.Length,
	roleAxis: quantity.Length, roleFrom: quantity.Chainage, roleTo: quantity.Chainage, roleBore: quantity.Length, roleWall: quantity.Length, roleRoughness: quantity.Length,
	roleRating: quantity.GaugePressure, roleChainage: quantity.Chainage, roleHeight: quantity.Length, roleSetting: quantity.Length}

// headWords brings a text to plain words: small letters, no accents, nothing but letters and digits between blanks.
func headWords(text string) []string {
	if len(text) > 400 {
		text = text[:400]
	}
	var b strings.Builder
	for _, c := range norm.NFD.String(strings.ToValidUTF8(text, " ")) {
		switch {
		case unicode.Is(unicode.Mn, c):
		case c == 'ß':
			b.WriteString("ss")
		case c == 'ø' || c == 'Ø':
			b.WriteByte('o')
		case unicode.IsLetter(c) || unicode.IsDigit(c):
			b.WriteRune(unicode.ToLower(c))
		default:
			b.WriteByte(' ')
		}
	}
	return strings.Fields(b.String())
}

// containsWord tells whether folded words hold a phrase, at whole words.
func containsWord(words, phrase string) bool {
	return strings.Contains(" "+words+" ", " "+phrase+" ")
}

// equipmentHead is one column's head as understood.
type equipmentHead struct {
	text   string
	roles  []string // what the words can mean, the likeliest first; empty: nothing
	role   string   // as settled; empty: not used
	unit   string   // of the figures, where the head says it
	number int      // of a point, in "Q3"; 0: none
	flow   string   // a flow that the head itself gives: the column holds heads at "20 L/s"
}

var (
	bracketed  = regexp.MustCompile(`[\[(]([^\])]*)[\])]`)
	numbered   = regexp.MustCompile(`^(\p{L}[\p{L} ]*?) ?(\d{1,2})$`)
	flowInHead = regexp.MustCompile(`(?i)[-+]?\d+(?:\.\d+)?\s*(?:l/s|l/min|m³/s|m3/s|m³/h|m3/h|ml/d)`)
)

// understandHead reads one column's head.
func understandHead(text string) equipmentHead {
	h := equipmentHead{text: text}
	if len(text) > 240 || text == "" {
		return h
	}
	bare := text
	for _, m := range bracketed.FindAllStringSubmatch(text, 3) {
		if inner := strings.TrimSpace(m[1]); h.unit == "" && unitLike(inner) {
			h.unit = inner
		}
		bare = strings.Replace(bare, m[0], " ", 1)
	}
	if m := flowInHead.FindString(bare); m != "" {
		if _, err := quantity.Parse(quantity.Flow, m); err == nil {
			h.flow = m
			h.roles = []string{roleHead}
			return h
		}
	}
	for _, sep := range []string{",", " in ", "/ ", " - "} { // "Flow, L/s", "Flow in L/s", "Flow / L/s"
		if front, back, ok := strings.Cut(bare, sep); ok && h.unit == "" && unitLike(strings.TrimSpace(back)) {
			bare, h.unit = front, strings.TrimSpace(back)
		}
	}
	if i := strings.LastIndexByte(strings.TrimSpace(bare), ' '); i > 0 && h.unit == "" { // "Flow L/s"
		if last := strings.TrimSpace(strings.TrimSpace(bare)[i:]); unitLike(last) && last != "h" && last != "a" {
			h.unit, bare = last, strings.TrimSpace(bare)[:i]
		}
	}
	phrase := strings.Join(headWords(bare), " ")
	if m := numbered.FindStringSubmatch(phrase); m != nil && rolePhrases[m[1]] != "" && rolePhrases[phrase] == "" {
		n, _ := strconv.Atoi(m[2])
		h.number, phrase = n, m[1]
	}
	h.roles = rolesOf(phrase)
	if len(h.roles) == 0 && phrase == "" && h.unit == "" && unitLike(strings.TrimSpace(text)) {
		h.unit = strings.TrimSpace(text)
	}
	return h
}

// rolesOf finds what a phrase can mean: the whole of it, or the longest piece of it that means anything.
func rolesOf(phrase string) []string {
	if r := rolePhrases[phrase]; r != "" {
		return strings.Split(strings.TrimSuffix(r, "|"), "|")
	}
	words := strings.Fields(phrase)
	if len(words) > 8 {
		return nil
	}
	for n := len(words) - 1; n > 0; n-- {
		for i := 0; i+n <= len(words); i++ {
			piece := strings.Join(words[i:i+n], " ")
			if len(piece) < 3 {
				continue // "h", "to", "c" mean something alone only
			}
			if r := rolePhrases[piece]; r != "" {
				return strings.Split(strings.TrimSuffix(r, "|"), "|")
			}
		}
	}
	return nil
}

// unitLike tells a text that is a unit of any of the roles.
func unitLike(text string) bool {
	if text == "" || len(text) > 20 {
		return false
	}
	if text == "-" || text == "–" || text == "1" {
		return true
	}
	for _, k := range []quantity.Kind{quantity.Length, quantity.Flow, quantity.Ratio, quantity.GaugePressure} {
		if _, err := quantity.Parse(k, "1 "+text); err == nil {
			return true
		}
	}
	return false
}

// kindWords are the words for what stands in a pipe, folded. The longest that a text holds decides.
var kindWords = []struct {
	kind  line.EquipmentKind
	air   bool
	words string
}{
	{line.IsolatingValve, false, "isolating valve;isolation valve;isolating;isolation;gate valve;gate;sluice valve;butterfly valve;butterfly;section valve;line valve;ball valve;schieber;absperrschieber;absperrklappe;" +
		"vanne;vanne de sectionnement;valvula de compuerta;compuerta;saracinesca;afsluiter;stop valve"},
	{line.CheckValve, false, "check valve;check;non return valve;non return;nonreturn valve;nrv;reflux valve;reflux;ruckschlagklappe;ruckschlagventil;clapet;clapet anti retour;valvula de retencion;retencion;valvola di ritegno;terugslagklep"},
	{line.SustainingValve, false, "sustaining valve;sustaining;pressure sustaining valve;pressure sustaining;druckhalteventil;maintien de pression;sostenedora;sostegno"},
	{line.ReducingValve, false, "reducing valve;reducing;pressure reducing valve;pressure reducing;druckminderer;druckreduzierventil;reducteur de pression;reductora;riduttrice"},
	{line.FlowControlValve, false, "flow control valve;flow control;flow limiter;durchflussregler;regulateur de debit;limitadora de caudal"},
	{line.Scour, false, "scour;scour valve;washout;wash out;washout valve;drain;drain valve;blow off;blowoff;drain down;entleerung;entleerungsventil;vidange;desague;scarico;spui"},
	{0, true, "air valve;air valves;airvalve;airvalves;air release valve;air vacuum valve;combination air valve;av;arv;vent;luftventil;entlufter;beluftungsventil;entluftungsventil;be und entluftungsventil;ventouse;ventouses;ventosa;ventosas;sfiato;sfiati;ontluchter"},
}

// plurals are endings of a word for several.
var plurals = []string{"s", "e", "n", "en"}

// kindOf reads the word for a kind of equipment.
func kindOf(text string) (k line.EquipmentKind, air, ok bool) {
	words := strings.Join(headWords(text), " ")
	best := 0
	for _, e := range kindWords {
		for w := range strings.SplitSeq(e.words, ";") {
			if len(w) > best && (containsWord(words, w) || len(w) > 4 && slices.ContainsFunc(plurals, func(end string) bool { return containsWord(words, w+end) })) {
				best, k, air, ok = len(w), e.kind, e.air, true
			}
		}
	}
	return k, air, ok
}

// kindNames are the words offered where a kind is not known.
func kindNames() []string {
	return []string{line.IsolatingValve.String(), line.CheckValve.String(), line.SustainingValve.String(), line.ReducingValve.String(), line.FlowControlValve.String(), line.Scour.String(), "air valve"}
}
