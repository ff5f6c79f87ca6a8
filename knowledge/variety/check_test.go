package variety_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

func whole() variety.Variety {
	return variety.Variety{
		Name: "Amber Lane", Season: variety.Late, Form: variety.Spray, Section: variety.Section{Number: 9, Letter: "d"}, USClass: 7, Colour: "light bronze",
		Response: 9.5, Critical: variety.Critical{Bud: 14, Flower: 13}, Natural: variety.Natural{On: on(time.November, 5), Lat: 52},
		Stops: []variety.Stop{
			{On: on(time.June, 5), Bloom: on(time.November, 5), Lat: 52, Source: "own key"},
			{On: on(time.November, 20), Second: on(time.January, 10), Bloom: on(time.May, 4), Lat: -43.5},
		},
		StopsWanted: 2, Kept: 4, Shoots: 8, Protection: variety.Licensed, Until: calendar.DayOf(2040, time.May, 1), Licence: "No 12",
	}
}

func TestCheck(t *testing.T) {
	t.Parallel()
	require.NoError(t, whole().Check())
	require.NoError(t, variety.Variety{Name: "Amber Lane"}.Check())
	for name, c := range map[string]struct {
		spoil func(*variety.Variety)
		part  string
	}{
		"no name":          {func(v *variety.Variety) { v.Name = "" }, "give one of 1 to 60"},
		"untidy name":      {func(v *variety.Variety) { v.Name = " Amber" }, `give it as "Amber"`},
		"long colour":      {func(v *variety.Variety) { v.Colour = strings.Repeat("x", 61) }, "at most 60"},
		"hidden licence":   {func(v *variety.Variety) { v.Licence = "a\u202Eb" }, "cannot be kept"},
		"season":           {func(v *variety.Variety) { v.Season = "spring" }, "give early, mid or late"},
		"form":             {func(v *variety.Variety) { v.Form = "rose" }, "no flower form"},
		"section 16":       {func(v *variety.Variety) { v.Section.Number = 16 }, "no section 16"},
		"section 99":       {func(v *variety.Variety) { v.Section.Number = 99 }, "from 1 to 30"},
		"letter only":      {func(v *variety.Variety) { v.Section.Number = 0 }, "from 1 to 30"},
		"section letter":   {func(v *variety.Variety) { v.Section.Letter = "B" }, "one small letter"},
		"season clash":     {func(v *variety.Variety) { v.Season = variety.Early }, "leave one of the two out"},
		"form clash":       {func(v *variety.Variety) { v.Form = variety.Single }, "leave one of the two out"},
		"US class":         {func(v *variety.Variety) { v.USClass = 14 }, "from 1 to 13"},
		"response quarter": {func(v *variety.Variety) { v.Response = 9.25 }, "in halves"},
		"response short":   {func(v *variety.Variety) { v.Response = 5.5 }, "6 to 15"},
		"response long":    {func(v *variety.Variety) { v.Response = 15.5 }, "6 to 15"},
		"response NaN":     {func(v *variety.Variety) { v.Response = math.NaN() }, "6 to 15"},
		"critical crossed": {func(v *variety.Variety) { v.Critical.Flower = 15 }, "give both"},
		"critical half":    {func(v *variety.Variety) { v.Critical.Flower = 0 }, "give both"},
		"natural day":      {func(v *variety.Variety) { v.Natural.On = on(time.February, 30) }, "no day of the year"},
		"natural latitude": {func(v *variety.Variety) { v.Natural.Lat = 91 }, "from -90 to 90"},
		"stop without day": {func(v *variety.Variety) { v.Stops = []variety.Stop{{Lat: 52}} }, "The stop has no day"},
		"stop latitude":    {func(v *variety.Variety) { v.Stops[0].Lat = math.Inf(1) }, "from -90 to 90"},
		"stop source":      {func(v *variety.Variety) { v.Stops[0].Source = "\x00" }, "cannot be kept"},
		"bloom day":        {func(v *variety.Variety) { v.Stops[0].Bloom = on(13, 1) }, "The bloom has no day"},
		"bloom with stop":  {func(v *variety.Variety) { v.Stops[0].Bloom = on(time.June, 5) }, "give the stop first"},
		"bloom before":     {func(v *variety.Variety) { v.Stops[0].Bloom = on(time.May, 5) }, "give the stop first"},
		"second after":     {func(v *variety.Variety) { v.Stops[0].Second = on(time.November, 5) }, "in order"},
		"stops":            {func(v *variety.Variety) { v.StopsWanted = 3 }, "give 1 or 2"},
		"kept":             {func(v *variety.Variety) { v.Kept = -1 }, "give 1 to 50"},
		"shoots":           {func(v *variety.Variety) { v.Shoots = math.NaN() }, "up to 100"},
		"protection":       {func(v *variety.Variety) { v.Protection = "maybe" }, "unknown, free, protected or licensed"},
		"free until":       {func(v *variety.Variety) { v.Protection = variety.Free }, "leave the day out"},
		"no licence":       {func(v *variety.Variety) { v.Licence = "" }, "give the holder or the number"},
	} {
		v := whole()
		c.spoil(&v)
		err := v.Check()
		require.ErrorContains(t, err, c.part, name)
		require.Equal(t, fault.Unclear, fault.KindOf(err), name)
	}
}

func TestCheckResponse(t *testing.T) {
	t.Parallel()
	for weeks := 6.0; weeks <= 15; weeks += 0.5 {
		require.NoError(t, variety.CheckResponse(weeks))
	}
	require.Error(t, variety.CheckResponse(0))
}
