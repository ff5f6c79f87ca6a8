package requests

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/bot/picture"
	"shortday/knowledge/register"
)

// mostDeeds is how many rows a picture of a number has; what came before stands in one.
const mostDeeds = 24

// countChart draws how the number of batches came about, deed by deed.
func (c counter) countChart(ctx context.Context, title string, batches []register.Batch, pinch bool) (bot.File, error) {
	var deeds []register.CountDeed
	for _, b := range batches {
		all, err := c.reg.Explain(ctx, b.ID)
		if err != nil {
			return bot.File{}, err
		}
		deeds = append(deeds, all...)
	}
	deeds = slices.DeleteFunc(deeds, func(d register.CountDeed) bool { return d.Delta == 0 || !d.Event.UndoneAt.IsZero() })
	slices.SortStableFunc(deeds, func(a, b register.CountDeed) int {
		return cmp.Or(cmp.Compare(a.Event.On, b.Event.On), cmp.Compare(a.Event.ID, b.Event.ID))
	})
	k := picture.Count{Title: title, Note: "How the number came about: what was added in green, what went in vermilion."}
	if len(batches) > 1 {
		k.Note += " Of what only moved from one batch to another both sides are shown."
	}
	if early := len(deeds) - mostDeeds; early > 0 {
		before := picture.CountDeed{Name: "all before", On: deeds[early].Event.On}
		for _, d := range deeds[:early+1] {
			before.Delta += d.Delta
		}
		k.Deeds, deeds = append(k.Deeds, before), deeds[early+1:]
	}
	for _, d := range deeds {
		name := deedName(d, pinch)
		if len(batches) > 1 {
			name += ", " + d.Event.Name
		}
		k.Deeds = append(k.Deeds, picture.CountDeed{Name: shortened(name, 30), On: d.Event.On, Delta: d.Delta})
	}
	return drawn("stock", k)
}

// shortened gives at most so many letters of a text, the last an ellipsis where some are left out.
func shortened(text string, most int) string {
	if runes := []rune(text); len(runes) > most {
		return strings.TrimSpace(string(runes[:most-1])) + "…"
	}
	return text
}
