package quantity

import "math"

// Duration writes a time (s) as people say it, with two of its units at most: "40 s", "2 min 10 s", "3 h 05 min", "4 d 6 h", "1.5 years".
func Duration(seconds float64) string {
	const minute, hour, day, year = 60, 3600, 86400, 365 * 86400
	s := math.Round(seconds)
	switch {
	case math.Abs(seconds) < 9.95:
		return Format(seconds, "s", 1)
	case s < 0:
		return minus + Duration(-seconds)
	case s < minute:
		return Format(s, "s", 0)
	case s < hour:
		return pair(s, minute, "min", 1, "s")
	case s < day-minute/2:
		return pair(math.Round(s/minute), 60, "h", 1, "min")
	case s < 60*day:
		return pair(math.Round(s/hour), 24, "d", 1, "h")
	case s < 2*year:
		return Number(s/day, 0) + "\u00a0d"
	}
	return Number(s/year, 1) + "\u00a0years"
}

// pair splits n small units into large ones of size each; the small ones are left out where there are none.
func pair(n, size float64, large string, step float64, small string) string {
	whole := math.Floor(n / size)
	text := Number(whole, 0) + "\u00a0" + large
	if rest := n - whole*size; rest >= step {
		text += "\u00a0" + Number(rest, 0) + "\u00a0" + small
	}
	return text
}
