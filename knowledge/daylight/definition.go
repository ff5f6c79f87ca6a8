// Package daylight reckons the Sun for a position and a day: when light begins and ends under a named definition, how
// long the day is, and on which days it crosses a length. It leaves what a plant makes of it to crop.
package daylight

import (
	"strings"

	"shortday/knowledge/fault"
)

// Definition says what counts as day. The same plant at the same place meets a length weeks apart under two
// definitions, so every answer names its own.
type Definition uint8

// The definitions.
const (
	// Sunrise is sunrise to sunset: the Sun's upper edge on a level horizon, 34′ of refraction and 16′ of radius, so its
	// centre at −0.833° (Meeus, Astronomical Algorithms, ch. 15).
	Sunrise Definition = iota
	// Civil is civil twilight: the Sun's centre at −6°.
	Civil
	// Plant is the light that a chrysanthemum sees: from −5° in the morning to −3° in the evening. The plant answers down to
	// about 8 lx in the morning and 54 lx in the evening (Hort. Res. Japan 18(1):45, 2019); the angles are our inference.
	Plant
)

// Definitions lists all of them, the default first.
func Definitions() []Definition { return []Definition{Sunrise, Civil, Plant} }

// ReadDefinition reads the word that String gives, in any case.
func ReadDefinition(text string) (Definition, error) {
	for _, def := range Definitions() {
		if strings.EqualFold(strings.TrimSpace(text), def.String()) {
			return def, nil
		}
	}
	return 0, fault.New(fault.Unclear, "No definition of day is called %q; choose sunrise, civil or plant.", text)
}

// String gives the word of requests: "sunrise", "civil" or "plant".
func (def Definition) String() string {
	switch def {
	case Civil:
		return "civil"
	case Plant:
		return "plant"
	}
	return "sunrise"
}

// Describe gives a phrase for replies, such as "from sunrise to sunset".
func (def Definition) Describe() string {
	switch def {
	case Civil:
		return "with civil twilight (Sun above −6°)"
	case Plant:
		return "as chrysanthemums see it (Sun above −5° in the morning, −3° in the evening)"
	}
	return "from sunrise to sunset"
}

// MarshalText writes the word.
func (def Definition) MarshalText() ([]byte, error) { return []byte(def.String()), nil }

// UnmarshalText reads the word.
func (def *Definition) UnmarshalText(text []byte) error {
	read, err := ReadDefinition(string(text))
	if err != nil {
		return err
	}
	*def = read
	return nil
}

// sines gives the sine of the Sun's altitude at which light begins and ends.
func (def Definition) sines() (morning, evening float64) {
	const (
		sunrise = -0.014537964 // −0.833°
		civil   = -0.104528463 // −6°
		dawn    = -0.087155743 // −5°
		dusk    = -0.052335956 // −3°
	)
	switch def {
	case Civil:
		return civil, civil
	case Plant:
		return dawn, dusk
	}
	return sunrise, sunrise
}
