package variety

import (
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// ReadProtection reads one of the four states: "unknown", "free", "protected", "licensed".
func ReadProtection(text string) (Protection, error) {
	switch Fold(text) {
	case "unknown", "not known":
		return Unknown, nil
	case "free", "unprotected", "not protected":
		return Free, nil
	case "protected":
		return Protected, nil
	case "licensed", "licenced", "licence", "license":
		return Licensed, nil
	}
	return Unknown, fault.New(fault.Unclear, "%q says nothing of breeders' rights; give unknown, free, protected or licensed.", text)
}

// Words gives the state as replies show it.
func (p Protection) Words() string {
	switch p {
	case Free:
		return "free of breeders' rights"
	case Protected:
		return "protected by breeders' rights"
	case Licensed:
		return "propagated under a licence"
	}
	return "breeders' rights not known"
}

// Caution is the one sentence to show where stock of the variety changes hands or is propagated for sale; empty where
// it is free. It leaves the decision to the holder's licence (UPOV 1991; gov.uk).
func (v Variety) Caution(today calendar.Day) string {
	const ask = "ask the breeder or the plant-variety office before stock is propagated for sale or exchange"
	ended := !v.Until.IsZero() && v.Until < today
	switch {
	case v.Protection == Free:
		return ""
	case v.Protection == Licensed:
		return fmt.Sprintf("%s is propagated under licence%s: what that licence allows decides whether stock may be passed on.", v.Name, prefixed(" ", v.Licence))
	case v.Protection == Protected && ended:
		return fmt.Sprintf("The breeders' rights recorded for %s ran until %s: %s, in case they were prolonged.", v.Name, v.Until.Long(), ask)
	case v.Protection == Protected:
		return fmt.Sprintf("%s is protected by breeders' rights%s: propagating it for sale or exchange needs the holder's licence, and that licence decides.", v.Name, v.until())
	}
	return fmt.Sprintf("Whether %s is protected by breeders' rights is not known: %s.", v.Name, ask)
}

func (v Variety) until() string {
	if v.Until.IsZero() {
		return ""
	}
	return " until " + v.Until.Long()
}

func prefixed(prefix, text string) string {
	if text == "" {
		return ""
	}
	return prefix + text
}
