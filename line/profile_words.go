package line

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// sense is what a word of a header means.
type sense uint16

// The senses. A word may have one; unknown words have none and say nothing.
const (
	senseChainage   sense = 1 << iota // chainage by its proper name
	senseDistance                     // a distance: chainage where nothing better is there
	senseLength                       // a length: chainage only where it is cumulative
	senseCumulative                   // counted from the beginning
	senseLevel
	senseDatum // a height datum: a column with a unit of length above it is a level
	senseObvert
	senseInvert
	senseAxis
	senseGround
	senseOutside // of the pipe's outside
	senseOther   // the column is of something else, whatever the other words say
	senseNeutral // goes with anything
	senseUnit
	senseStakes // "km+m": how chainage is written, not its unit

	senseKinds = senseObvert | senseInvert | senseAxis | senseGround
)

// vocabulary holds headers' words as [foldWords] writes them: small letters, no accents. The
// words are those surveyors' tables carry in English, German, French, Spanish, Italian,
// Portuguese, Dutch, Polish, Turkish, Czech, Danish, Norwegian, Swedish, Hungarian, Romanian
// and Russian (common practice, no source).
var vocabulary = buildVocabulary(map[sense]string{
	senseChainage: `chainage chain chg ch station stationing stationnement sta stn stationierung stationering stationnering
		pk kp pkt pks kilometrage kilometrierung kilometraz hektometraz kilometering kilometrering metrierung metrage metraje
		progresiva progressiva progressive progressivo prog progr estaca estacas abscisa abscisse absc cadenamiento kilometraje
		pikietaz pikieta stanicenie staniceni stacioniranje stacionaza istasyon szelveny pichet pel paalu paaluluku
		пикет пикетаж пк км километраж χθ χιλιομετρηση hectometrering metrering lfm laufmeter`,
	senseDistance: `distance dist distanz entfernung distanza distancia odleglosc dystans afstand mesafe avstand afstande
		vzdalenost vzdialenost tavolsag distanta расстояние strecke`,
	senseLength:     `length lange laenge longueur longitud lunghezza dlugosc comprimento uzunluk lengte laengde langd lengde delka`,
	senseCumulative: `cumulative cumulated cumul cumulee cum cumulata acumulada acumulado accumulated running kumuliert kumulativ kumulatif origen origine narastajaco narastajaca cumulatief`,
	senseLevel: `level levels lvl elevation elevations elev rl height heights ht altitude alt altitud altura z hohe hohen hoehe hoehen kote koten
		cote cotes cota cotas quota quote kot kota kotu kotlar rzedna rzedne wysokosc hoogte peil niveau nivel nivell niva nivo ordinate
		vyska yukseklik rakim hohenkote hoyde magassag отметка отметки высота υψομετρο korkeus cotation altimetrie`,
	senseDatum: `aod asl amsl msl nn nhn nap ngf ign69 snm slm npm dvr90 dnn rh2000 rh70 n2000 nn2000 navd88 ngvd29 ahd aboveddatum
		tudka kron86 dhhn2016 dhhn92 evrf2007 bpv moh mnb`,
	senseObvert: `obvert soffit crown scheitel rohrscheitel clave claves intrados voute hjassa bbb kulminacija binnenbovenkant`,
	senseInvert: `invert inverts inv il sohle rohrsohle kanalsohle radier solera batea scorrimento soleira bob binnenonderkant
		dno dna akar bundkote bundlob vattengang vg лоток лотка folyasfenek`,
	senseAxis: `axis axe axes achse rohrachse axial centreline centerline eje ejes asse eixo hartlijn hart os osi osa eksen akse
		centerlinje keskilinja ось оси tengely`,
	senseGround: `ground gl ogl egl ngl fgl natural terrain gelande gelaende gok okg okgel tn terreno terrenos suelo solo maaiveld mv teren terenu grunt
		zemin arazi terraen terreng mark markniva maanpinta terep sol dtm dem dgm mnt mdt земля земли земле campagna urgelande`,
	senseOutside: `outsidetop`,
	senseOther: `name names id no nr num number nummer numero nom nombre date time zeit remark remarks note notes comment comments
		bemerkung bemerkungen remarque remarques observaciones observacoes description beschreibung label code type typ punktnummer
		diameter durchmesser diametre diametro srednica cap dn bore size dia material werkstoff class sdr slope gradient gefalle gefaelle neigung pente
		pendiente pendenza declive spadek egim helling incline inclination pressure druck pression presion pressione pressao cisnienie basinc head hgl
		piezometric piezometrique piezometrica flow velocity water waters wasser wasserspiegel eau agua acqua woda wody vatten vand su groundwater grundwasser gw gwl hwl lwl twl flood static
		dynamic cover uberdeckung ueberdeckung recouvrement recubrimiento ricoprimento recobrimento depth depths tiefe profondeur profundidad
		profondita profundidade glebokosc derinlik diepte hloubka dybde djup trench graben tranchee zanja scavo vala wykop wykopu hendek formation bedding
		difference diff delta dz dx dy ds error accuracy sigma std uncertainty genauigkeit easting northing east north x y lat latitude lon long
		longitude rechtswert hochwert ostwert nordwert area volume width breite angle radius bearing road strasse street calzada carretera river
		bank manhole schacht deckel between partial parcial partielle partiel partiels parziale parziali prev previous interval teilstrecke teil einzel ara offset underside
		czastkowa czastkowe lateral versatz thickness wanddicke epaisseur espesor`,
	senseNeutral: `pipe pipeline main rohr rohrleitung leitung tube tuyau conduite tuberia tubo tubazione condotta tubulacao rura rury rurociagu kanalu boru buis
		existing proposed design as built survey surveyed above datum of the in at on to by de du la le les del della der des das die den uber ueber ok oberkante from von
		naturel natural dogal tabii generatrice bau superior inferior trasse total o u m n p s l`,
	senseStakes: `stakesnotation`,
})

// parts are pieces of long compound words (Geländehöhe, Rohrsohlhöhe, terrænkote), looked for in this order.
var parts = []struct {
	piece string
	sense sense
}{
	{"wasser", senseOther}, {"druck", senseOther}, {"pressure", senseOther}, {"tiefe", senseOther}, {"gefalle", senseOther}, {"gefaelle", senseOther},
	{"neigung", senseOther}, {"breite", senseOther}, {"dicke", senseOther}, {"deckung", senseOther}, {"nummer", senseOther}, {"differenz", senseOther},
	{"unterkante", senseOther}, {"schacht", senseOther}, {"deckel", senseOther}, {"rohroberkante", senseObvert | senseOutside},
	{"sohl", senseInvert}, {"scheitel", senseObvert}, {"gelande", senseGround}, {"gelaende", senseGround}, {"terraen", senseGround},
	{"maaiveld", senseGround}, {"achs", senseAxis},
	{"station", senseChainage}, {"stacion", senseChainage}, {"stanic", senseChainage}, {"kilometr", senseChainage},
	{"hohe", senseLevel}, {"hoehe", senseLevel}, {"hoogte", senseLevel}, {"kote", senseLevel},
}

// phrases are several words that mean one thing, replaced before the words are looked up.
var phrases = strings.NewReplacer(
	" fil d eau ", " invert ", " filet d eau ", " invert ", " fond de tube ", " invert ", " fondo tubo ", " invert ", " fondo de tubo ", " invert ",
	" generatrice superieure ", " obvert ", " generatriz superior ", " obvert ", " generatrice superiore ", " obvert ", " geratriz superior ", " obvert ",
	" generatrice inferieure ", " invert ", " generatriz inferior ", " invert ", " generatrice inferiore ", " invert ", " geratriz inferior ", " invert ",
	" binnen onderkant ", " invert ", " binnen bovenkant ", " obvert ", " inside top ", " obvert ", " cielo tubo ", " obvert ",
	" point kilometrique ", " pk ", " points kilometriques ", " pk ", " punto kilometrico ", " pk ", " p k ", " pk ", " k p ", " kp ",
	" centre line ", " axis ", " center line ", " axis ", " hart leiding ", " axis ", " hart buis ", " axis ",
	" top of pipe ", " obvert outsidetop ", " pipe top ", " obvert outsidetop ", " ok rohr ", " obvert outsidetop ", " ok rohrleitung ", " obvert outsidetop ", " rohr ok ", " obvert outsidetop ",
	" oberkante rohr ", " obvert outsidetop ", " bovenkant buis ", " obvert outsidetop ", " boru ust ", " obvert outsidetop ", " wierzch rury ", " obvert outsidetop ",
	" wierzchu rury ", " obvert outsidetop ", " dessus de conduite ", " obvert outsidetop ",
	" bottom of pipe ", " underside ", " pipe bottom ", " underside ", " uk rohr ", " underside ", " unterkante rohr ", " underside ",
	" terrain naturel ", " ground ", " t n ", " ground ", " piano campagna ", " ground ", " p c ", " ground ", " g l ", " ground ", " n g l ", " ground ",
	" r l ", " level ", " i l ", " invert ", " reduced level ", " level ", " b o b ", " invert ",
	" m s n m ", " m snm ", " m s l m ", " m slm ", " m n p m ", " m npm ", " m a s l ", " m asl ", " m n m ", " m snm ", " m b p v ", " m bpv ",
	" mu nn ", " m nn ", " mu nhn ", " m nhn ", " mue nn ", " m nn ", " mue nhn ", " m nhn ", " m u nn ", " m nn ", " m u nhn ", " m nhn ", " m ue nn ", " m nn ", " m u m ", " m aboveddatum ", " mu m ", " m aboveddatum ",
	" m o d ", " m aod ", " m od ", " m aod ", " a o d ", " aod ", " a m s l ", " amsl ", " m s m ", " m aboveddatum ", " km m ", " stakesnotation ", " stakes m ", " stakesnotation ",
	" us survey ft ", " usft ", " us survey feet ", " usft ", " survey ft ", " usft ", " survey feet ", " usft ", " us ft ", " usft ", " us feet ", " usft ", " ft us ", " usft ",
)

// fused are units and data written as one word.
var fused = map[string][]string{
	"masl": {"m", "asl"}, "mamsl": {"m", "amsl"}, "maod": {"m", "aod"}, "mod": {"m", "aod"}, "munn": {"m", "nn"}, "muenn": {"m", "nn"}, "munhn": {"m", "nhn"},
	"muenhn": {"m", "nhn"}, "mnn": {"m", "nn"}, "mnhn": {"m", "nhn"}, "mnap": {"m", "nap"}, "mngf": {"m", "ngf"}, "msnm": {"m", "snm"}, "mslm": {"m", "slm"},
	"mnpm": {"m", "npm"}, "mum": {"m", "aboveddatum"}, "muem": {"m", "aboveddatum"}, "moh": {"m", "aboveddatum"}, "mahd": {"m", "ahd"}, "msl": {"msl"},
	"manm": {"m", "aboveddatum"}, "mbpv": {"m", "bpv"}, "mtaw": {"m", "aboveddatum"}, "mrl": {"m", "rl"}, "ftmsl": {"ft", "msl"}, "ftamsl": {"ft", "amsl"},
}

// lengthUnit is a unit of length: name as shown and metres in one of it.
type lengthUnit struct {
	name   string
	factor float64 // m
}

// known reports that there is a unit at all.
func (u lengthUnit) known() bool { return u.factor > 0 }

// feet reports whether the unit is a foot of any kind.
func (u lengthUnit) feet() bool { return u.name == "ft" || u.name == "ftUS" }

// lengthUnits by their words. The foot is 0.3048 m and the yard 0.9144 m exactly, the mile
// 1609.344 m, the US survey foot 1200/3937 m (NIST Special Publication 811, 2008, B.6 and B.8).
var lengthUnits = buildUnits([]struct {
	lengthUnit
	words string
}{
	{lengthUnit{"m", 1}, "m metre metres meter meters metro metros metri metr metry metrow metros mt mts mtr mtrs м метр"},
	{lengthUnit{"km", 1000}, "km kms kilometre kilometres kilometer kilometers kilometro kilometros chilometri kilometry км"},
	{lengthUnit{"hm", 100}, "hm"},
	{lengthUnit{"dm", 0.1}, "dm"},
	{lengthUnit{"cm", 0.01}, "cm centimetre centimetres centimeter"},
	{lengthUnit{"mm", 0.001}, "mm millimetre millimetres millimeter"},
	{lengthUnit{"ft", 0.3048}, "ft feet foot pies pieds fuss"},
	{lengthUnit{"ftUS", 1200.0 / 3937}, "usft ftus sft"},
	{lengthUnit{"yd", 0.9144}, "yd yard yards"},
	{lengthUnit{"mi", 1609.344}, "mi mile miles"},
})

func buildVocabulary(lists map[sense]string) map[string]sense {
	out := map[string]sense{}
	// Where a word stands in two lists, the sense that comes first in the list of senses holds.
	for s := senseStakes; s > 0; s >>= 1 {
		for w := range strings.FieldsSeq(lists[s]) {
			out[w] = s
		}
	}
	return out
}

func buildUnits(list []struct {
	lengthUnit
	words string
}) map[string]lengthUnit {
	out := map[string]lengthUnit{}
	for _, u := range list {
		for w := range strings.FieldsSeq(u.words) {
			out[w] = u.lengthUnit
		}
	}
	return out
}

// letters that do not come apart into a plain letter and an accent.
var plainLetters = strings.NewReplacer("ß", "ss", "ø", "o", "ł", "l", "ı", "i", "æ", "ae", "œ", "oe", "đ", "d", "ð", "d", "º", "o", "°", "o")

// foldWords brings a header to plain words: "Höhe [müNN]" to hohe, m, nn and "InvertLevel_m" to invert, level, m.
func foldWords(text string) []string {
	var b strings.Builder
	b.WriteByte(' ')
	gap := true
	var last rune
	for _, c := range text {
		if unicode.IsUpper(c) && unicode.IsLower(last) && !gap {
			b.WriteByte(' ')
		}
		last = c
		if unicode.IsLetter(c) || unicode.IsDigit(c) || unicode.Is(unicode.Mn, c) {
			b.WriteRune(unicode.ToLower(c))
			gap = false
			continue
		}
		if !gap {
			b.WriteByte(' ')
			gap = true
		}
	}
	b.WriteByte(' ')
	folded := strings.Map(dropAccent, norm.NFD.String(b.String()))
	folded = plainLetters.Replace(folded)
	folded = replacePhrases(folded)
	var out []string
	for w := range strings.FieldsSeq(folded) {
		if f, ok := fused[w]; ok {
			out = append(out, f...)
			continue
		}
		out = append(out, w)
	}
	return out
}

func dropAccent(c rune) rune {
	if unicode.Is(unicode.Mn, c) {
		return -1
	}
	return c
}

// replacePhrases runs twice, since two phrases may share the blank between them.
func replacePhrases(s string) string { return phrases.Replace(phrases.Replace(s)) }

// senseOf looks a folded word up.
func senseOf(word string) sense {
	if s, ok := vocabulary[word]; ok {
		return s
	}
	if _, ok := lengthUnits[word]; ok {
		return senseUnit
	}
	if len(word) < 5 {
		return 0
	}
	var found sense
	for _, p := range parts {
		if !strings.Contains(word, p.piece) {
			continue
		}
		if p.sense == senseOther {
			return senseOther
		}
		found |= p.sense
	}
	return found
}

// unitOf finds the one unit of length among words; two different ones are none.
func unitOf(words []string) (u lengthUnit, clash bool) {
	for _, w := range words {
		found, ok := lengthUnits[w]
		switch {
		case !ok:
		case u.known() && found != u:
			return lengthUnit{}, true
		default:
			u = found
		}
	}
	return u, false
}

// unitOfText reads a unit that stands alone, with or without a datum: "m", "m AOD", "müNN".
func unitOfText(text string) (lengthUnit, bool) {
	if len(text) > 40 {
		return lengthUnit{}, false
	}
	words := foldWords(text)
	for _, w := range words {
		if _, ok := lengthUnits[w]; !ok && senseOf(w)&(senseDatum|senseNeutral) == 0 {
			return lengthUnit{}, false
		}
	}
	u, _ := unitOf(words)
	return u, u.known()
}
