package quantity

import "strings"

// ParseMoney reads "1200 EUR", "0.18 EUR/kWh" or "1.40 EUR/m³" as an amount of
// the kind [Money], [MoneyPerEnergy] (per J) or [MoneyPerVolume] (per m³), and
// the ISO 4217 code of its currency. The error is an *[Error].
func ParseMoney(k Kind, text string) (amount float64, currency string, err error) {
	fail := func(understood, hint string) (float64, string, error) {
		return 0, "", &Error{k, text, understood, hint}
	}
	such := "write a figure with a currency code, such as " + Quote(k.Example())
	if !k.isMoney() {
		return fail("the program asked for money of a kind that is none", "report this as a fault of the program")
	}
	f := readFigure(text)
	code, below, stroke := strings.Cut(fold(f.rest), "/")
	switch {
	case f.dead && f.fault == "no figure":
		return fail("the figure does not stand in front", turned(k, text, such))
	case f.dead:
		return fail(f.fault, such)
	case f.rest == "":
		return fail(strings.Trim(f.fault+"; no currency", "; "), such)
	case !isCurrency(code):
		return fail(currencyAdvice(code, func(right string) string { return priced(k, f, right, below) }))
	}
	u, known := priceUnit(k, below, stroke)
	switch {
	case !known && k == Money:
		return fail("a price per "+below+", and an amount is asked for", write(f.text+" "+code))
	case !known && !stroke:
		return fail("it does not say for how much", write(f.with(code + "/" + tables[k].units[0].name)[0]))
	case !known:
		return fail("unknown unit "+Quote(below)+" below the price", priceHint(k, f, code, below))
	case f.fault != "":
		return fail(f.fault, write(f.with(f.rest)...))
	}
	amount = u.toSI(f.value)
	if fault := outside(k, f.value, amount); fault != "" {
		return fail(fault, such)
	}
	return amount, code, nil
}

// turned offers "EUR 5" the right way round.
func turned(k Kind, text, such string) string {
	i := strings.IndexAny(text, "0123456789")
	if i < 0 {
		return such
	}
	f, front := readFigure(text[i:]), fold(text[:i])
	code := strings.ToUpper(front)
	if signs[front] != "" {
		code = signs[front]
	}
	below, stroke := strings.CutPrefix(fold(f.rest), "/")
	if _, known := priceUnit(k, below, stroke); f.dead || !isCurrency(code) || !known {
		return such
	}
	return priced(k, f, code, below)
}

// priceUnit finds what stands below the price.
func priceUnit(k Kind, below string, stroke bool) (unit, bool) {
	if k == Money {
		return unit{n: 1, d: 1}, !stroke
	}
	if !stroke {
		return unit{}, false
	}
	return tables[k].find(below)
}

// priceHint offers the nearest unit below the stroke.
func priceHint(k Kind, f figure, code, below string) string {
	if u, ok := spelling(k, below); ok {
		return write(f.with(code + "/" + u)...)
	}
	if u, ok := Nearest(below, foldedNames(k)); ok && len(below) > 1 {
		if known, ok := tables[k].find(u); ok {
			return write(f.with(code + "/" + known.name)...)
		}
	}
	return "write a price, such as " + Quote(k.Example())
}

// priced offers the figure with a right code, and the unit below the price: the
// one given if it is known.
func priced(k Kind, f figure, code, below string) string {
	if k == Money {
		return write(f.with(code)...)
	}
	u, known := tables[k].find(below)
	if !known {
		u = tables[k].units[0]
	}
	return write(f.with(code + "/" + u.name)...)
}

// signs are currency signs with the codes that use them.
var signs = map[string]string{
	"€": "EUR", "£": "GBP", "₹": "INR", "₺": "TRY", "₪": "ILS", "₩": "KRW", "₽": "RUB", "₴": "UAH", "zł": "PLN", "Kč": "CZK", "R$": "BRL",
}

// currencyAdvice answers a currency that is not an ISO 4217 code.
func currencyAdvice(code string, offer func(code string) string) (understood, hint string) {
	switch {
	case signs[code] != "":
		return code + " is a sign, not a code", offer(signs[code])
	case strings.ContainsAny(code, "$¥"):
		return code + " stands for several currencies", "write its code, such as USD, AUD, CAD, CNY or JPY"
	case isCurrency(strings.ToUpper(code)):
		return "a currency code is written in capitals", offer(strings.ToUpper(code))
	case len(code) == 4 && (code[0] == 'k' || code[0] == 'M' || code[0] == 'T') && isCurrency(code[1:]):
		return "amounts are written out", "write the figure without the prefix, in " + code[1:]
	}
	if near, ok := Nearest(code, currencies); ok && len(code) > 2 {
		return Quote(code) + " is not a currency code (ISO 4217)", offer(near)
	}
	return Quote(code) + " is not a currency code (ISO 4217)", "write a code such as EUR, GBP, USD or INR behind the figure"
}

func isCurrency(code string) bool {
	_, ok := currencySet[code]
	return ok
}

var currencySet = func() map[string]struct{} {
	m := make(map[string]struct{}, len(currencies))
	for _, c := range currencies {
		m[c] = struct{}{}
	}
	return m
}()

// currencies are the codes of ISO 4217 list one for money in use, without
// funds, metals and test codes (from memory).
var currencies = strings.Fields(`
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CLP CNY
COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR
ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK
MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF
SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYU
UZS VED VES VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW ZWG`)
