package sizing

import "obvert/quantity"

// unit writes figures in one unit. Its ratio to SI is asked of package quantity once, since a line has thousands of figures.
type unit struct {
	name string
	per  float64 // of it in one SI unit
}

func unitOf(name string) unit {
	per, err := quantity.To(1, name)
	if err != nil {
		panic("sizing: " + err.Error())
	}
	return unit{"\u00a0" + name, per}
}

var (
	inMetres  = unitOf("m")
	inMM      = unitOf("mm")
	inLitres  = unitOf("L/s")
	inSpeed   = unitOf("m/s")
	inKPa     = unitOf("kPa")
	inBar     = unitOf("bar")
	inPercent = unitOf("%")
)

// text is a figure given in SI with its unit.
func (u unit) text(v float64, decimals int) string {
	return quantity.Number(v*u.per, decimals) + u.name
}

func metres(x float64, decimals int) string  { return inMetres.text(x, decimals) }
func mm(d float64, decimals int) string      { return inMM.text(d, decimals) }
func speed(v float64, decimals int) string   { return inSpeed.text(v, decimals) }
func percent(x float64, decimals int) string { return inPercent.text(x, decimals) }
func litres(q float64) string                { return inLitres.text(q, 1) }
func kPa(p float64) string                   { return inKPa.text(p, 1) }
func bars(p float64) string                  { return inBar.text(p, 1) }

// short writes a ratio below 1 so that it never reads as all.
func short(x float64) string {
	if x > 0.99 {
		return percent(x, 2)
	}
	return percent(x, 0)
}

// sentence begins with a capital.
func sentence(t string) string {
	if t == "" {
		return t
	}
	return string(t[0]-'a'+'A') + t[1:]
}
