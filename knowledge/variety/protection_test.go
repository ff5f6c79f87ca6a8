package variety_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/variety"
)

func TestReadProtection(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]variety.Protection{
		"Unknown": variety.Unknown, "free": variety.Free, "PROTECTED": variety.Protected, "licence": variety.Licensed,
	} {
		got, err := variety.ReadProtection(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got)
		require.NotEmpty(t, got.Words())
	}
	_, err := variety.ReadProtection("patent")
	require.ErrorContains(t, err, "give unknown, free, protected or licensed")
}

func TestCaution(t *testing.T) {
	t.Parallel()
	today, until := calendar.DayOf(2027, time.March, 1), calendar.DayOf(2040, time.May, 1)
	for name, c := range map[string]struct {
		v    variety.Variety
		want string
	}{
		"free": {variety.Variety{Protection: variety.Free}, ""},
		"unknown": {variety.Variety{},
			"Whether Amber Lane is protected by breeders' rights is not known: ask the breeder or the plant-variety office before stock is propagated for sale or exchange."},
		"protected": {variety.Variety{Protection: variety.Protected},
			"Amber Lane is protected by breeders' rights: propagating it for sale or exchange needs the holder's licence, and that licence decides."},
		"until": {variety.Variety{Protection: variety.Protected, Until: until},
			"Amber Lane is protected by breeders' rights until Tue 1 May 2040: propagating it for sale or exchange needs the holder's licence, and that licence decides."},
		"last day": {variety.Variety{Protection: variety.Protected, Until: today},
			"Amber Lane is protected by breeders' rights until Mon 1 Mar 2027: propagating it for sale or exchange needs the holder's licence, and that licence decides."},
		"ended": {variety.Variety{Protection: variety.Protected, Until: today.Add(-1)},
			"The breeders' rights recorded for Amber Lane ran until Sun 28 Feb 2027: ask the breeder or the plant-variety office before stock is propagated for sale or exchange, in case they were prolonged."},
		"licensed": {variety.Variety{Protection: variety.Licensed, Licence: "No 12"},
			"Amber Lane is propagated under licence No 12: what that licence allows decides whether stock may be passed on."},
	} {
		c.v.Name = "Amber Lane"
		require.Equal(t, c.want, c.v.Caution(today), name)
	}
}
