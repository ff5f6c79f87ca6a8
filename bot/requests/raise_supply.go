package requests

import (
	"fmt"
	"math"

	"shortday/bot"
	"shortday/knowledge/raising"
)

// settingFields say how the plants are grown, on which the supplies depend.
func settingFields() []bot.Field {
	return []bot.Field{
		{Name: "bed", Help: "yes if they are planted in a bed, no for final pots; lates go in pots if left out", Kind: bot.YesKind},
		{Name: "spacing", Help: "from plant to plant; 45 cm if left out", Kind: bot.LengthKind, Min: new(1.0), Max: new(500.0)},
		{Name: "cells", Counts: []string{"cell", "cutting"}, Help: "cuttings in a tray; 40 if left out", Kind: bot.WholeKind, Min: new(1.0), Max: new(1000.0)},
	}
}

// supplies says what the plants stand in and on, in the asker's units.
func (u undertaking) supplies(in *bot.In, n raising.Numbers) (string, error) {
	s, err := raising.Supplies(n, u.setting)
	if err != nil {
		return "", err
	}
	needs := []string{plural(s.Trays, "tray", "trays")}
	for _, pot := range s.Pots {
		needs = append(needs, plural(pot.Count, "pot", "pots")+" of "+in.WriteLength(float64(pot.CM)))
	}
	where := "final pots"
	if u.setting.Bed {
		where = "a bed"
	}
	spacing := u.setting.Spacing
	if spacing == 0 {
		spacing = 45 // the default of raising.Setting
	}
	return fmt.Sprintf("For it you need %s; %s of compost; %s of bench, and %s of ground in %s at %s.",
		listed(needs), volume(in, s.Compost), area(in, s.Bench), area(in, s.Ground), where, in.WriteLength(spacing)), nil
}

// volume writes litres, or cubic feet for those who measure in inches.
func volume(in *bot.In, litres float64) string {
	if in.Inches {
		return fmt.Sprintf("%.1f cu ft", litres/28.316846592) // by definition
	}
	return fmt.Sprintf("%.0f litres", math.Ceil(litres))
}

// area writes square metres, or square feet for those who measure in inches.
func area(in *bot.In, m2 float64) string {
	if in.Inches {
		return fmt.Sprintf("%.0f sq ft", math.Ceil(m2/0.09290304)) // by definition
	}
	return fmt.Sprintf("%.1f m²", math.Ceil(m2*10)/10)
}
