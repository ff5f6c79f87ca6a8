package requests

import (
	"cmp"
	"slices"

	"shortday/bot"
	"shortday/bot/picture"
	"shortday/knowledge/supply"
	"shortday/knowledge/variety"
)

// supplyChart draws the stems of each week, told apart by season class or, where that is asked for, by variety: those with
// the most stems, and all others together.
func (p prospect) supplyChart(title, by string) (bot.File, error) {
	parts, name := p.Seasons, func(r supply.Row) string {
		if r.Season == variety.Season("") {
			return "season not known"
		}
		return string(r.Season)
	}
	if by == "variety" {
		parts = slices.SortedStableFunc(slices.Values(p.Varieties), func(a, b supply.Row) int { return cmp.Compare(b.Stems, a.Stems) })
		name = func(r supply.Row) string { return p.varieties[r.Variety].Name }
	}
	s := picture.Supply{Title: title, Note: "A column is what a week brings on average; the whisker is nine seasons in ten of their sum."}
	for w, week := range p.Weeks {
		band := p.All.Weeks[w]
		s.Weeks = append(s.Weeks, picture.SupplyWeek{From: week.From, Low: float64(band.Low), High: float64(band.High), Promised: week.Promised})
	}
	for i, part := range parts {
		at := min(i, picture.MostParts-1)
		if at == len(s.Parts) {
			s.Parts = append(s.Parts, name(part))
			for w := range s.Weeks {
				s.Weeks[w].Expected = append(s.Weeks[w].Expected, 0)
			}
		} else {
			s.Parts[at] = "all others"
		}
		for w := range s.Weeks {
			s.Weeks[w].Expected[at] += part.Weeks[w].Expected
		}
	}
	return drawn("supply", s)
}
