package daylight_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
)

var (
	anyLat    = rapid.Float64Range(-65, 65)
	anyLon    = rapid.Float64Range(-180, 180)
	anyDay    = rapid.Int32Range(int32(calendar.DayOf(1900, time.January, 1)), int32(calendar.DayOf(2199, time.December, 31)))
	anyDef    = rapid.SampledFrom(daylight.Definitions())
	anyYear   = rapid.IntRange(1950, 2100)
	anyHours  = rapid.Float64Range(0, 24)
	anySeason = rapid.SampledFrom([]daylight.Season{daylight.Spring, daylight.Autumn})
)

func TestDefinition(t *testing.T) {
	t.Parallel()
	for _, def := range daylight.Definitions() {
		read, err := daylight.ReadDefinition(" " + def.String() + " ")
		require.NoError(t, err)
		require.Equal(t, def, read)
		require.NotEmpty(t, def.Describe())

		var unmarshalled daylight.Definition
		text, err := def.MarshalText()
		require.NoError(t, err)
		require.NoError(t, unmarshalled.UnmarshalText(text))
		require.Equal(t, def, unmarshalled)
	}
	_, err := daylight.ReadDefinition("dusk")
	require.Equal(t, fault.Unclear, fault.KindOf(err))
	require.ErrorContains(t, err, "sunrise, civil or plant")
}

// Plant light begins inside civil twilight and ends later than sunset: −5° and −3° are 4 and 2.2 degrees below the horizon of sunrise.
func TestPlantLightLiesBetween(t *testing.T) {
	t.Parallel()
	p, day := place.Point{Lat: 51.5}, calendar.DayOf(2027, time.September, 10)
	sunrise, plant, civil := daylight.On(p, day, daylight.Sunrise), daylight.On(p, day, daylight.Plant), daylight.On(p, day, daylight.Civil)
	require.True(t, civil.Rise.Before(plant.Rise) && plant.Rise.Before(sunrise.Rise))
	require.True(t, sunrise.Set.Before(plant.Set) && plant.Set.Before(civil.Set))
	require.Greater(t, civil.Set.Sub(plant.Set), plant.Rise.Sub(civil.Rise), "the evening ends earlier than the morning begins")
}

func TestPolar(t *testing.T) {
	t.Parallel()
	june, december := calendar.DayOf(2027, time.June, 21), calendar.DayOf(2027, time.December, 21)
	for name, c := range map[string]struct {
		lat   float64
		day   calendar.Day
		def   daylight.Definition
		hours float64
		polar daylight.Polar
	}{
		"midnight sun":           {70, june, daylight.Sunrise, 24, daylight.PolarDay},
		"polar night":            {70, december, daylight.Sunrise, 0, daylight.PolarNight},
		"southern midnight sun":  {-70, december, daylight.Sunrise, 24, daylight.PolarDay},
		"southern polar night":   {-70, june, daylight.Sunrise, 0, daylight.PolarNight},
		"white night at 65°":     {65, june, daylight.Civil, 24, daylight.PolarDay},
		"white night of a plant": {65, june, daylight.Plant, 24, daylight.PolarDay},
		"north pole":             {90, june, daylight.Sunrise, 24, daylight.PolarDay},
		"south pole":             {-90, june, daylight.Civil, 0, daylight.PolarNight},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			light := daylight.On(place.Point{Lat: c.lat}, c.day, c.def)
			require.Equal(t, daylight.Light{Hours: c.hours, Polar: c.polar}, light)
		})
	}
	require.Equal(t, daylight.NotPolar, daylight.On(place.Point{Lat: 65}, december, daylight.Sunrise).Polar)
}

// Both sides of the date line are the same place; only the date under which the day goes differs.
func TestDateLine(t *testing.T) {
	t.Parallel()
	day := calendar.DayOf(2027, time.March, 1)
	east := daylight.On(place.Point{Lat: -17, Lon: 180}, day.Add(1), daylight.Sunrise)
	west := daylight.On(place.Point{Lat: -17, Lon: -180}, day, daylight.Sunrise)
	require.WithinDuration(t, east.Rise, west.Rise, time.Millisecond)
	require.WithinDuration(t, east.Set, west.Set, time.Millisecond)
}

func TestCrossing(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		lat   float64
		hours float64
		want  []daylight.Season // in the order of the year
	}{
		"north":                       {45, 13.5, []daylight.Season{daylight.Spring, daylight.Autumn}},
		"south":                       {-45, 13.5, []daylight.Season{daylight.Autumn, daylight.Spring}},
		"never so long":               {35, 15, nil},
		"never so short":              {35, 9, nil},
		"equator, between":            {0, 12.12, []daylight.Season{daylight.Spring, daylight.Autumn}},
		"equator, never":              {0, 13, nil},
		"65°":                         {65, 20, []daylight.Season{daylight.Spring, daylight.Autumn}},
		"no length at all":            {45, 0, nil},
		"longer than a day":           {45, 24, nil},
		"shortest days, over the end": {45, 8.777, []daylight.Season{daylight.Autumn, daylight.Spring}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var seasons []daylight.Season
			for _, passage := range daylight.Crossings(place.Point{Lat: c.lat}, c.hours, 2027, daylight.Sunrise) {
				require.Equal(t, 2027, passage.On.Year())
				seasons = append(seasons, passage.Season)
			}
			require.Equal(t, c.want, seasons)
		})
	}
}

// The search against looking at each day of the year.
func TestCrossingIsTheFirstSuchDay(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lats := rapid.OneOf(anyLat, rapid.Float64Range(-5, 5)) // close to the equator the length goes both ways
		p := place.Point{Lat: lats.Draw(t, "lat"), Lon: anyLon.Draw(t, "lon")}
		def, year := anyDef.Draw(t, "def"), anyYear.Draw(t, "year")
		// A length that some day of the year nearly has, so that most draws cross and many touch the solstices.
		near := calendar.DayOf(year, time.January, 1).Add(rapid.IntRange(0, 364).Draw(t, "near"))
		hours := daylight.Hours(p, near, def) + rapid.Float64Range(-0.002, 0.002).Draw(t, "off")
		season := anySeason.Draw(t, "season")

		day, ok := daylight.Crossing(p, hours, season, year, def)
		want := lookedUp(p, hours, season, year, def)
		if !ok {
			require.Empty(t, want)
			return
		}
		require.Contains(t, want, day)
	})
}

// lookedUp gives every day of the year on which the length is crossed in a season's direction and half of the year.
func lookedUp(p place.Point, hours float64, season daylight.Season, year int, def daylight.Definition) []calendar.Day {
	sign := 1.0
	if season == daylight.Autumn {
		sign = -1
	}
	past := func(d calendar.Day) bool { return sign*(daylight.Hours(p, d, def)-hours) > 0 }
	firstHalf := (season == daylight.Spring) != p.South()
	june := calendar.DayOf(year, time.June, 21)
	december := calendar.DayOf(year, time.December, 22)
	var found []calendar.Day
	for d := calendar.DayOf(year, time.January, 1); d.Year() == year; d++ {
		inHalf := d < june+5 || d > december-4
		if !firstHalf {
			inHalf = d > june-4 && d < december+5
		}
		if inHalf && past(d) && !past(d-1) {
			found = append(found, d)
		}
	}
	return found
}

func TestHoursAreWithinADay(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := place.Point{Lat: rapid.Float64Range(-90, 90).Draw(t, "lat"), Lon: anyLon.Draw(t, "lon")}
		day, def := calendar.Day(anyDay.Draw(t, "day")), anyDef.Draw(t, "def")
		light := daylight.On(p, day, def)
		require.GreaterOrEqual(t, light.Hours, 0.0)
		require.LessOrEqual(t, light.Hours, 24.0)
		require.Equal(t, daylight.Hours(p, day, def), light.Hours)
		if !light.Rise.IsZero() && !light.Set.IsZero() {
			require.InDelta(t, light.Hours, light.Set.Sub(light.Rise).Hours(), 1e-6)
		}
		if light.Polar != daylight.NotPolar {
			require.True(t, light.Rise.IsZero() && light.Set.IsZero())
		}
		require.LessOrEqual(t, light.Hours, daylight.Hours(p, day, daylight.Civil)+1e-9)
	})
}

// The two hemispheres share one Sun: their days fill 24 h and the twilight besides, and their longest days are equal.
func TestHemispheresMirror(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lat, def, year := rapid.Float64Range(0, 60).Draw(t, "lat"), anyDef.Draw(t, "def"), anyYear.Draw(t, "year")
		north, south := place.Point{Lat: lat}, place.Point{Lat: -lat}
		day := calendar.DayOf(year, time.January, 1).Add(rapid.IntRange(0, 364).Draw(t, "day"))
		require.Greater(t, daylight.Hours(north, day, def)+daylight.Hours(south, day, def), 24.0)
		june, december := calendar.DayOf(year, time.June, 21), calendar.DayOf(year, time.December, 21)
		require.InDelta(t, daylight.Hours(north, june, def), daylight.Hours(south, december, def), 0.02)
		require.InDelta(t, daylight.Hours(south, june, def), daylight.Hours(north, december, def), 0.02)
	})
}

// Spring and autumn lie about equally far from the longest day; the orbit's shape makes up the rest.
func TestSeasonsMirror(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p, def, year := place.Point{Lat: rapid.Float64Range(35, 60).Draw(t, "lat")}, anyDef.Draw(t, "def"), anyYear.Draw(t, "year")
		hours := rapid.Float64Range(12, 14).Draw(t, "hours")
		spring, springs := daylight.Crossing(p, hours, daylight.Spring, year, def)
		autumn, autumns := daylight.Crossing(p, hours, daylight.Autumn, year, def)
		require.True(t, springs && autumns)
		solstice := calendar.DayOf(year, time.June, 21)
		require.InDelta(t, solstice.Sub(spring), autumn.Sub(solstice), 5)
	})
}

func TestSpringComesBeforeAutumn(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p, def, year := place.Point{Lat: anyLat.Draw(t, "lat")}, anyDef.Draw(t, "def"), anyYear.Draw(t, "year")
		hours := anyHours.Draw(t, "hours")
		spring, springs := daylight.Crossing(p, hours, daylight.Spring, year, def)
		autumn, autumns := daylight.Crossing(p, hours, daylight.Autumn, year, def)
		if !springs || !autumns || spring.Annual().Month == time.December || autumn.Annual().Month == time.December {
			return
		}
		require.Equal(t, !p.South(), spring < autumn, "%s %s", spring, autumn)
	})
}

func TestDaysPerDegree(t *testing.T) {
	t.Parallel()
	// checks/crossings.csv: 13.5 h in autumn falls on 2 Sep at 50° N and 3 Sep at 52° N, on 22 Aug at 40° N and 15 Aug at 35° N.
	at := func(lat float64) float64 {
		return daylight.DaysPerDegree(place.Point{Lat: lat}, 13.5, daylight.Autumn, 2027, daylight.Sunrise)
	}
	require.InDelta(t, 0.5, at(51), 0.5)
	require.InDelta(t, 7.0/5, at(37.5), 0.5)
	require.Greater(t, at(35), at(50))
	require.Zero(t, at(5), "never so long a day")

	edge := daylight.DaysPerDegree(place.Point{Lat: 35}, 14.5, daylight.Autumn, 2027, daylight.Sunrise)
	require.True(t, math.IsInf(edge, 1), "a degree further south the day never gets that long")
}

func BenchmarkOn(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		daylight.On(place.Point{Lat: 51.5, Lon: -0.1}, 739884, daylight.Sunrise)
	}
}

func BenchmarkCrossing(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		daylight.Crossing(place.Point{Lat: 51.5, Lon: -0.1}, 13.5, daylight.Autumn, 2027, daylight.Plant)
	}
}
