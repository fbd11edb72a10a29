package line

import (
	"fmt"
	"strings"

	"obvert/quantity"
)

const minutesADay = 24 * 60

// mostBands bounds the bands of a tariff.
const mostBands = 200

// readTariff reads [[prices.tariff]]: energy by the time of day. The bands cover the 24 hours once.
func (r *reader) readTariff(f form, p *Prices) {
	forms := f.list("tariff", "prices.tariff", false)
	if len(forms) == 0 {
		return
	}
	var priced [minutesADay]int // how many bands hold in each minute
	sound := true
	for i, t := range forms {
		if i == mostBands {
			t.fault("", fmt.Sprintf("more than %d bands in a tariff", mostBands), fmt.Sprintf("%d are written", len(forms)), "join those of one price")
			return
		}
		from, hasFrom := t.timeOfDay("from")
		to, hasTo := t.timeOfDay("to")
		energy, hasEnergy := t.money("energy", quantity.MoneyPerEnergy, &p.Currency)
		if !hasEnergy && !t.t.Has("energy") {
			t.fault("energy", "is missing", "", "write energy = \"0.18 EUR/kWh\"")
		}
		if hasFrom && hasTo && from%minutesADay == to%minutesADay && to-from != minutesADay {
			t.fault("to", "the band ends when it begins", clock(from)+" to "+clock(to), "write from = \"00:00\" and to = \"24:00\" for the whole day")
			hasTo = false
		}
		if !hasFrom || !hasTo || !hasEnergy {
			sound = false
			continue
		}
		for m := from % minutesADay; ; {
			priced[m]++
			if m = (m + 1) % minutesADay; m == to%minutesADay {
				break
			}
		}
		p.Tariff = append(p.Tariff, TariffBand{From: float64(from%minutesADay) / 60, To: float64(to) / 60, Energy: energy * joulePerKWh})
	}
	if f.t.Has("energy") {
		f.fault("energy", "the energy is priced twice", "by one figure and by a tariff", "keep one of them")
	}
	if sound && r.coversDay(f, &priced) && !p.HasEnergy && !f.t.Has("energy") {
		p.Energy, p.HasEnergy = meanTariff(p.Tariff), true
		r.assume("prices.energy", "prices", "Where the hour is not known, energy costs the mean of the tariff over the day, "+
			quantity.Number(p.Energy, 4)+" "+p.Currency+" per kWh.")
	}
}

// coversDay reports the hours that no band covers, and those that several do.
func (r *reader) coversDay(f form, priced *[minutesADay]int) bool {
	var gaps, overlaps []string
	for m := 0; m < minutesADay; {
		end := m + 1
		for end < minutesADay && min(priced[end], 2) == min(priced[m], 2) {
			end++
		}
		switch span := clock(m) + " to " + clock(end); min(priced[m], 2) {
		case 0:
			gaps = append(gaps, span)
		case 2:
			overlaps = append(overlaps, span)
		}
		m = end
	}
	if len(gaps) > 0 {
		f.fault("tariff", "the tariff does not cover the day", "no price holds from "+strings.Join(gaps, ", from "), "let its bands cover the 24 hours once")
	}
	if len(overlaps) > 0 {
		f.fault("tariff", "two prices of the tariff hold at one time", "from "+strings.Join(overlaps, ", from "), "let its bands cover the 24 hours once")
	}
	return len(gaps)+len(overlaps) == 0
}

// meanTariff is the mean price over a day of bands that cover it once.
func meanTariff(bands []TariffBand) float64 {
	sum := 0.0
	for _, b := range bands {
		hours := b.To - b.From
		if hours <= 0 {
			hours += 24
		}
		sum += hours * b.Energy
	}
	return sum / 24
}

// timeOfDay reads a time such as "06:30", in minutes from midnight; "24:00" is the day's end.
func (f form) timeOfDay(key string) (minutes int, ok bool) {
	text, ok := f.text(key, true)
	if !ok {
		return 0, false
	}
	h, m, parted := strings.Cut(strings.TrimSpace(text), ":")
	hour, fineHour := twoDigits(h)
	minute, fineMinute := twoDigits(m)
	minutes = 60*hour + minute
	if !parted || !fineHour || !fineMinute || len(m) != 2 || minute > 59 || minutes > minutesADay {
		f.fault(key, quantity.Quote(text)+" is not a time of day", "", "write hours and minutes from \"00:00\" to \"24:00\", such as \"06:30\"")
		return 0, false
	}
	return minutes, true
}

// twoDigits reads a number of one or two digits.
func twoDigits(s string) (n int, ok bool) {
	if len(s) < 1 || len(s) > 2 {
		return 0, false
	}
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = 10*n + int(c-'0')
	}
	return n, true
}

// clock writes minutes from midnight as a time of day.
func clock(minutes int) string { return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60) }
