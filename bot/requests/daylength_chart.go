package requests

import (
	"context"
	"fmt"
	"slices"

	"shortday/bot"
	"shortday/bot/picture"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/daylight"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// curve draws the year's day length with the lengths that matter: one that was asked for, else the critical ones of the
// variety named or of most; and the times in which the asker makes the days by hand.
func (c counter) curve(ctx context.Context, s sky, seat register.Seat, v variety.Variety, length float64, on calendar.Day, today calendar.Day) (bot.File, error) {
	first, days := yearOf(on)
	of := "most varieties"
	if v.Name != "" {
		of = v.Name
	}
	d := picture.DayLength{
		Title: fmt.Sprintf("Day length in %d at %s", on.Year(), s.Point), Note: "Reckoned " + s.def.Describe() + ". Broken lines: the lengths below which " + of + " set buds, and flower.",
		From: first, Hours: make([]float64, days), Today: today,
	}
	for i := range d.Hours {
		d.Hours[i] = daylight.Hours(s.Point, first.Add(i), s.def)
	}
	d.Levels = s.levels(v, length, on.Year())
	var err error
	if d.Spans, err = c.handMade(ctx, seat, first, first.Add(days-1)); err != nil {
		return bot.File{}, err
	}
	return drawn("daylength", d)
}

func (s sky) levels(v variety.Variety, length float64, year int) []picture.Level {
	levels := []picture.Level{{Name: "asked for", Hours: length}}
	if length == 0 {
		critical, _ := v.CriticalOrDefault()
		levels = []picture.Level{{Name: "buds are set", Hours: critical.Bud}, {Name: "they go on to flower", Hours: critical.Flower}}
	}
	for i := range levels {
		for _, p := range daylight.Crossings(s.Point, levels[i].Hours, year, s.def) {
			levels[i].Passed = append(levels[i].Passed, p.On)
		}
	}
	return levels
}

// handMade gives the times between two days in which a member's plans have black-out or night lighting.
func (c counter) handMade(ctx context.Context, seat register.Seat, from, to calendar.Day) ([]picture.Span, error) {
	if seat.Zero() {
		return nil, nil
	}
	plans, err := c.reg.Plans(ctx, seat.Member.ID, 0)
	if err != nil {
		return nil, err
	}
	var spans []picture.Span
	for _, p := range plans {
		if p.Way != crop.Shaded && p.Way != crop.Lit {
			continue
		}
		jobs, err := c.reg.JobsOf(ctx, p.ID)
		if err != nil {
			return nil, err
		}
		for _, pair := range [][2]crop.Kind{{crop.BlackOut, crop.BlackOutEnd}, {crop.Light, crop.LightEnd}} {
			begin := slices.IndexFunc(jobs, func(j register.Job) bool { return j.Kind == pair[0] })
			end := slices.IndexFunc(jobs, func(j register.Job) bool { return j.Kind == pair[1] })
			if begin < 0 || end < 0 || jobs[end].Due < from || jobs[begin].Due > to {
				continue
			}
			name := "black-out, " + p.Name
			if pair[0] == crop.Light {
				name = "night lighting, " + p.Name
			}
			spans = append(spans, picture.Span{Name: name, From: jobs[begin].Due, To: jobs[end].Due})
		}
	}
	return spans, nil
}
