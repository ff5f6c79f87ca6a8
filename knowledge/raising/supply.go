package raising

import (
	"math"

	"shortday/knowledge/fault"
)

// Pot is a size of pot and the compost that fills it.
type Pot struct {
	CM     int     // across the top
	Litres float64 // from memory by default
}

// Setting is how plants are raised. Zero fields take the default.
type Setting struct {
	Cells      int     // cuttings a tray; 40, common practice
	TrayLitres float64 // compost a tray; 4, from memory
	TrayBench  float64 // m² of bench a tray; 0.38 × 0.24, common practice
	Pots       []Pot   // in the order of potting on, the last being the final pot; 9, 13 and 22 cm (NCS, Exhibition Incurve Blooms)
	Bed        bool    // planted out in a bed instead of the final pot
	Spacing    float64 // cm between plants; 45, RHS plant profile 813
}

// Supply is what the raising takes.
type Supply struct {
	Trays   int
	Pots    []PotCount
	Compost float64 // litres of fresh compost; a ball potted on keeps its own
	Bench   float64 // m², at the step that takes most: trays, or small pots standing edge to edge
	Ground  float64 // m² that the grown plants take at the spacing, in a bed or in final pots
}

// PotCount is how many pots of a size are needed.
type PotCount struct {
	CM, Count int
}

// Supplies reckons what the numbers of a chain take: trays for the cuttings, small pots for the rooted ones, final
// pots or a bed for the plants.
func Supplies(n Numbers, s Setting) (Supply, error) {
	s = s.orDefault()
	if err := s.check(); err != nil {
		return Supply{}, err
	}
	trays := (n.Cuttings + s.Cells - 1) / s.Cells
	out := Supply{Trays: trays, Compost: float64(trays) * s.TrayLitres, Bench: float64(trays) * s.TrayBench}
	ball := 0.0
	for i, pot := range s.Pots {
		final := i == len(s.Pots)-1
		if final && s.Bed {
			break
		}
		count := n.Rooted
		if final {
			count = n.Plants
		} else {
			out.Bench = max(out.Bench, float64(count)*square(float64(pot.CM)))
		}
		out.Pots = append(out.Pots, PotCount{pot.CM, count})
		out.Compost += float64(count) * (pot.Litres - ball)
		ball = pot.Litres
	}
	out.Ground = float64(n.Plants) * square(s.Spacing)
	return out, nil
}

// square gives the m² of a square of a side in cm.
func square(cm float64) float64 { return cm * cm / 10_000 }

func (s Setting) orDefault() Setting {
	if s.Cells == 0 {
		s.Cells = 40
	}
	if s.TrayLitres == 0 {
		s.TrayLitres = 4
	}
	if s.TrayBench == 0 {
		s.TrayBench = 0.38 * 0.24
	}
	if len(s.Pots) == 0 {
		s.Pots = []Pot{{9, 0.35}, {13, 1.0}, {22, 5.0}}
	}
	if s.Spacing == 0 {
		s.Spacing = 45
	}
	return s
}

func (s Setting) check() error {
	switch {
	case s.Cells < 1 || s.Cells > 1000:
		return fault.New(fault.Unclear, "A tray does not hold %d cuttings; give 1 to 1000.", s.Cells)
	case !(s.TrayLitres > 0 && s.TrayLitres <= 100):
		return fault.New(fault.Unclear, "A tray does not take %g litres; give more than 0, up to 100.", s.TrayLitres)
	case !(s.TrayBench > 0 && s.TrayBench <= 10):
		return fault.New(fault.Unclear, "A tray does not stand on %g m²; give more than 0, up to 10.", s.TrayBench)
	case !(s.Spacing >= 1 && s.Spacing <= 500):
		return fault.New(fault.Unclear, "A spacing of %g cm does not serve; give 1 to 500 cm.", s.Spacing)
	}
	before := Pot{}
	for _, pot := range s.Pots {
		if pot.CM <= before.CM || pot.CM > 200 || !(pot.Litres > before.Litres && !math.IsInf(pot.Litres, 0)) {
			return fault.New(fault.Unclear, "A pot of %d cm and %g litres does not follow one of %d cm and %g; give the pots from small to large, up to 200 cm.", pot.CM, pot.Litres, before.CM, before.Litres)
		}
		before = pot
	}
	return nil
}
