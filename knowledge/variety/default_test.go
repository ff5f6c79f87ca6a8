package variety_test

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

func on(month time.Month, day int) calendar.Annual { return calendar.Annual{Month: month, Day: day} }

func TestReadSeason(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]variety.Season{
		"early": variety.Early, "Mid-Season": variety.Mid, "lates": variety.Late, "early flowering": variety.Early, " LATE ": variety.Late,
	} {
		season, err := variety.ReadSeason(text)
		require.NoError(t, err, text)
		require.Equal(t, want, season)
	}
	for _, text := range []string{"", "october", "lately"} {
		_, err := variety.ReadSeason(text)
		require.Equal(t, fault.Unclear, fault.KindOf(err), text)
	}
}

func TestSeasonOrGuess(t *testing.T) {
	t.Parallel()
	natural := func(month time.Month, day int, lat float64) variety.Variety {
		return variety.Variety{Natural: variety.Natural{On: on(month, day), Lat: lat}}
	}
	for name, c := range map[string]struct {
		v      variety.Variety
		season variety.Season
		source string
	}{
		"field":            {variety.Variety{Season: variety.Mid, Section: variety.Section{Number: 9}}, variety.Mid, "as given"},
		"section":          {variety.Variety{Section: variety.Section{Number: 25, Letter: "b"}}, variety.Early, "NCS (UK) section 25b"},
		"september":        {natural(time.September, 30, 52), variety.Early, "natural bloom 30 Sep"},
		"october":          {natural(time.October, 1, 52), variety.Mid, "natural bloom 1 Oct"},
		"november":         {natural(time.November, 1, 0), variety.Late, "natural bloom 1 Nov"},
		"new year":         {natural(time.January, 5, 65), variety.Late, "natural bloom 5 Jan"},
		"southern early":   {natural(time.March, 15, -43.5), variety.Early, "natural bloom 15 Mar"},
		"southern mid":     {natural(time.April, 15, -43.5), variety.Mid, "natural bloom 15 Apr"},
		"christchurch may": {natural(time.May, 4, -43.5), variety.Late, "natural bloom 4 May"},
		"southern summer":  {natural(time.December, 1, -43.5), variety.Early, "natural bloom 1 Dec"},
		"nothing":          {variety.Variety{}, variety.AnySeason, ""},
	} {
		season, source := c.v.SeasonOrGuess()
		require.Equal(t, c.season, season, name)
		require.Equal(t, c.source, source, name)
	}
}

func TestNaturalOrClass(t *testing.T) {
	t.Parallel()
	own := variety.Natural{On: on(time.October, 3), Lat: 45}
	got, source := variety.Variety{Season: variety.Late, Natural: own}.NaturalOrClass()
	require.Equal(t, own, got)
	require.Contains(t, source, "of the variety")
	for season, month := range map[variety.Season]time.Month{variety.Early: time.September, variety.Mid: time.October, variety.Late: time.November} {
		got, source := variety.Variety{Season: season}.NaturalOrClass()
		require.Equal(t, variety.Natural{On: on(month, 15), Lat: 52}, got)
		require.Contains(t, source, "season class "+string(season))
	}
	got, source = variety.Variety{}.NaturalOrClass()
	require.Zero(t, got)
	require.Empty(t, source)
}

func TestStemsKeptPublished(t *testing.T) {
	t.Parallel()
	for _, row := range published(t, "stems-kept.csv") {
		s, err := variety.ReadSection(row[0])
		require.NoError(t, err)
		stems, source := variety.Variety{Section: s}.StemsKept()
		require.Equal(t, row[2], strconv.Itoa(stems), row)
		require.Contains(t, source, row[1]+"–"+row[2], row)
	}
}

func TestDefaults(t *testing.T) {
	t.Parallel()
	bare := variety.Variety{}
	critical, source := bare.CriticalOrDefault()
	require.Equal(t, variety.Critical{Bud: 14.5, Flower: 13.5}, critical)
	require.Contains(t, source, "Nagano")
	stems, source := bare.StemsKept()
	require.Equal(t, 4, stems)
	require.Contains(t, source, "form not known")
	stops, source := bare.StopsWantedOrDefault()
	require.Equal(t, 1, stops)
	require.Equal(t, "common practice", source)
	shoots, source := bare.ShootsOrDefault()
	require.InDelta(t, 10, shoots, 0)
	require.Equal(t, "common practice", source)
	form, source := bare.FormOrGuess()
	require.Equal(t, variety.AnyForm, form)
	require.Empty(t, source)

	for _, form := range variety.Forms() {
		stems, source := variety.Variety{Form: form}.StemsKept()
		require.Positive(t, stems, form)
		require.NotContains(t, source, "not known", form)
	}

	given := variety.Variety{Form: variety.Spray, Critical: variety.Critical{Bud: 14, Flower: 13}, Kept: 6, StopsWanted: 2, Shoots: 7.5}
	critical, source = given.CriticalOrDefault()
	require.Equal(t, given.Critical, critical)
	require.Equal(t, "as given", source)
	stems, _ = given.StemsKept()
	require.Equal(t, 6, stems)
	stops, _ = given.StopsWantedOrDefault()
	require.Equal(t, 2, stops)
	shoots, _ = given.ShootsOrDefault()
	require.InDelta(t, 7.5, shoots, 0)

	twice := variety.Variety{Stops: []variety.Stop{{On: on(time.May, 1)}, {On: on(time.April, 20), Second: on(time.June, 20)}}}
	stops, source = twice.StopsWantedOrDefault()
	require.Equal(t, 2, stops)
	require.Equal(t, "dated stop key", source)

	form, source = variety.Variety{USClass: 6}.FormOrGuess()
	require.Equal(t, variety.Pompon, form)
	require.Equal(t, "nearest to US class pompon", source)
}
