package place_test

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/fault"
	"shortday/knowledge/place"
)

// Reference points as zone1970.tab and zone.tab print them.
func TestOfZone(t *testing.T) {
	t.Parallel()
	for zone, want := range map[string]place.Place{
		"America/Denver":                 {Zone: "America/Denver", Point: place.Point{Lat: 39.739167, Lon: -104.984167}},        // +394421-1045903
		"europe/london":                  {Zone: "Europe/London", Point: place.Point{Lat: 51.508333, Lon: -0.125278}},           // +513030-0000731
		"America/São Paulo":              {Zone: "America/Sao_Paulo", Point: place.Point{Lat: -23.533333, Lon: -46.616667}},     // -2332-04637
		"Pacific/Auckland":               {Zone: "Pacific/Auckland", Point: place.Point{Lat: -36.866667, Lon: 174.766667}},      // -3652+17446
		"Europe/Oslo":                    {Zone: "Europe/Oslo", Point: place.Point{Lat: 59.916667, Lon: 10.75}},                 // +5955+01045, zone.tab
		"US/Mountain":                    {Zone: "US/Mountain", Point: place.Point{Lat: 39.739167, Lon: -104.984167}},           // a link to Denver
		"America/Argentina/Buenos Aires": {Zone: "America/Argentina/Buenos_Aires", Point: place.Point{Lat: -34.6, Lon: -58.45}}, // -3436-05827
	} {
		got, err := place.OfZone(zone)
		require.NoError(t, err, zone)
		require.Equal(t, want, got)
		require.True(t, got.Known())
		require.False(t, got.Exact)
	}
}

func TestOfZoneRefuses(t *testing.T) {
	t.Parallel()
	for zone, says := range map[string]string{
		"Europe/Lodnon": "Europe/London",
		"Denvr":         "America/Denver",
		"UTC":           "belongs to no place",
		"Etc/GMT+5":     "belongs to no place",
		"CET":           "belongs to no place",
		"":              "or a position such as",
	} {
		_, err := place.OfZone(zone)
		require.Equal(t, fault.Missing, fault.KindOf(err), zone)
		require.ErrorContains(t, err, says)
	}
}

// Every zone on offer is one that Go knows, and lies on Earth.
func TestZonesAreZones(t *testing.T) {
	t.Parallel()
	all := place.Zones("", 10000)
	require.Greater(t, len(all), 500)
	for _, zone := range all {
		_, err := time.LoadLocation(zone)
		require.NoError(t, err)
		got, err := place.OfZone(zone)
		require.NoError(t, err)
		read, err := place.Parse(got.Point.String())
		require.NoError(t, err)
		require.Equal(t, got.Point, read)
		require.NotZero(t, got.Point, zone)
	}
}

func TestZonesComplete(t *testing.T) {
	t.Parallel()
	require.Equal(t, []string{"Europe/Berlin"}, place.Zones("berl", 5))
	require.Equal(t, []string{"Africa/Abidjan", "Africa/Accra"}, place.Zones("africa/a", 2))
	require.Equal(t, "America/New_York", place.Zones("york", 5)[0])
	require.Empty(t, place.Zones("nowhere", 5))
	require.Empty(t, place.Zones("a", 0))
}
