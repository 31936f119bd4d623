package unit

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

const priceExamples = `a price such as "0.17 $/kWh" or "2.90 $/gal"`

// maxPrice bounds a written price, in any currency.
const maxPrice = 1e6

// Price is an amount of money for one unit of something. The zero value is no price.
type Price struct {
	Amount   float64
	Currency string // as written: "$", "€", "USD"
	Per      string // as written: "kWh", "gal"
}

// ParsePrice reads "0.16 $/kWh", "0.16 USD/kWh" or "$0.16/kWh". It may not be negative.
func ParsePrice(text string) (Price, error) {
	s := strings.TrimSpace(text)
	money, per, found := strings.Cut(s, "/")
	per = strings.TrimSpace(per)
	money = strings.TrimSpace(money)
	if s != "" && len(s) <= maxText && utf8.ValidString(s) {
		if r, size := utf8.DecodeRuneInString(money); symbol(r) {
			money = money[size:] + string(r)
		}
	}
	t, err := split(money, priceExamples)
	switch {
	case err != nil:
		return Price{}, &Error{fmt.Sprintf("%.32q is not a price", s), "write " + priceExamples}
	case t.unit == "":
		return Price{}, &Error{fmt.Sprintf("%q names no currency", s), "write " + priceExamples}
	case !currency(t.unit):
		return Price{}, &Error{fmt.Sprintf("%q: %q is not a currency", s, t.unit), "write " + priceExamples}
	case !found || per == "":
		return Price{}, &Error{fmt.Sprintf("%q does not say for how much", s), "write " + priceExamples}
	case t.value < 0 || t.value > maxPrice:
		return Price{}, &Error{fmt.Sprintf("%q is out of range for a price", s), "write " + priceExamples}
	}
	return Price{t.value, t.unit, per}, nil
}

// String returns the price as ParsePrice reads it.
func (p Price) String() string {
	return fmt.Sprintf("%s %s/%s", money(p.Amount), p.Currency, p.Per)
}

// Of reports whether the price is in the currency named by the three-letter code: under that
// code, or under a symbol in use for it.
func (p Price) Of(code string) bool {
	return p.Currency == code || p.Currency == Symbol(code)
}

// Symbol returns the sign under which prices in the currency are written, the code itself where
// there is none.
func Symbol(code string) string {
	switch code {
	case "USD", "CAD", "AUD", "NZD":
		return "$"
	case "EUR":
		return "€"
	case "GBP":
		return "£"
	case "JPY", "CNY":
		return "¥"
	case "SEK", "NOK", "DKK", "ISK":
		return "kr"
	case "PLN":
		return "zł"
	case "CZK":
		return "Kč"
	}
	return code
}

func symbol(r rune) bool { return strings.ContainsRune("$€£¥", r) && r != utf8.RuneError }

// currency reports whether s can be a currency: a sign, or letters.
func currency(s string) bool {
	if r, size := utf8.DecodeRuneInString(s); size == len(s) && symbol(r) {
		return true
	}
	return s == "kr" || s == "zł" || s == "Kč" || Code(s)
}

// Code reports whether s has the form of a currency's code: three capital letters.
func Code(s string) bool {
	if len(s) != 3 {
		return false
	}
	for i := range len(s) {
		if s[i] < 'A' || s[i] > 'Z' {
			return false
		}
	}
	return true
}

// money keeps at least the two digits of coins, and as many more as the price has, up to five.
func money(amount float64) string {
	text := trim(amount, 5)
	_, decimals, _ := strings.Cut(text, ".")
	if len(decimals) >= 2 {
		return text
	}
	return fmt.Sprintf("%.2f", amount)
}
