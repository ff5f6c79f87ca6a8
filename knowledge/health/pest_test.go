package health_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
)

func TestReadPest(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]health.Key{
		"white rust": health.WhiteRust, "White-Rust": health.WhiteRust, "PUCCINIA  HORIANA": health.WhiteRust, "rust": "",
		"vert": health.Verticillium, "spotted": health.SpottedWilt, "Leaf Eelworm": health.LeafEelworm, "other": health.Other,
		"viroid": "", "stunt": health.StuntViroid, "": "", " ": "", "s": "",
	} {
		got, err := health.ReadPest(text)
		require.Equal(t, want, got.Key, text)
		if want == "" {
			require.Equal(t, fault.Unclear, fault.KindOf(err))
			require.ErrorContains(t, err, "white rust, stunt viroid, spotted wilt virus, leaf eelworm, Verticillium wilt, other")
		}
	}
}

// Trade facts, section 4: USDA-APHIS via Nursery Management and BC Ministry of Agriculture (white rust), INRAE and EPPO
// 2023 (viroid), MSU Extension (spotted wilt); a season for Verticillium (Cornell).
func TestHiddenPeriods(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		key                 health.Key
		least, most, onward int
	}{
		{health.WhiteRust, 14, 56, 56}, {health.StuntViroid, 90, 90, 90}, {health.SpottedWilt, 70, 70, 70},
		{health.Verticillium, 365, 365, 365}, {health.LeafEelworm, 365, 365, 365},
	} {
		h := pest(t, c.key).Hidden
		require.Equal(t, []int{c.least, c.most, c.onward}, []int{h.BackMin, h.BackMax, h.Forward}, c.key)
	}
}

func TestEveryPestNamesItsSources(t *testing.T) {
	t.Parallel()
	for _, p := range health.Pests() {
		require.NotEmpty(t, p.Hidden.Source)
		require.NotEmpty(t, p.Cautions)
		for _, d := range p.Differ {
			require.Greater(t, len(d.Said), 1, "a difference takes two")
			p.Said = append(p.Said, d.Said...)
		}
		for _, c := range p.Reportable {
			require.NotEmpty(t, c.Source, c.Name)
		}
		for _, s := range p.Said {
			require.NotEmpty(t, s.Source, s.Text)
		}
	}
}

func TestDutyIsHeededFirst(t *testing.T) {
	t.Parallel()
	rust := pest(t, health.WhiteRust)
	for _, country := range []string{"United States", "the United States", "USA", " us ", "U.S."} { // USDA-APHIS via Nursery Management
		require.Contains(t, rust.Heeded(country)[0], "White rust is reportable in the United States", country)
	}
	require.NotContains(t, strings.Join(rust.Heeded("USA"), " "), "whether it must be told")
	require.Len(t, rust.Heeded("USA"), len(rust.Cautions), "the other cautions stay")
	require.Contains(t, rust.Heeded("Canada")[0], "White rust is reportable in Canada") // BC Ministry of Agriculture
	for _, country := range []string{"", "UK", "Ireland", "Ruritania"} {
		require.Equal(t, rust.Cautions, rust.Heeded(country), country)
	}
	require.Equal(t, pest(t, health.StuntViroid).Cautions, pest(t, health.StuntViroid).Heeded("USA"), "nothing is known of it")
}

func TestStandApart(t *testing.T) {
	t.Parallel()
	came := calendar.DayOf(2028, time.February, 20) // across a leap day
	a := health.StandApart(came, health.ApartDays)
	require.Equal(t, "2028-04-16", a.Until.String())
	require.Len(t, a.Looks, 8)
	require.Equal(t, "2028-02-27", a.Looks[0].String())
	require.Equal(t, a.Until, a.Looks[7])
	require.False(t, a.Over(a.Until))
	require.True(t, a.Over(a.Until.Add(1)))

	ten := health.StandApart(came, 10)
	require.Equal(t, []calendar.Day{came.Add(7), came.Add(10)}, ten.Looks)

	none := health.StandApart(came, 0)
	require.Empty(t, none.Looks)
	require.True(t, none.Over(came))
}

func TestHeldUntil(t *testing.T) {
	t.Parallel()
	seen := calendar.DayOf(2027, time.June, 30)
	require.Equal(t, "2027-08-25", pest(t, health.WhiteRust).HeldUntil(seen).String())
	require.Equal(t, "2027-09-28", pest(t, health.StuntViroid).HeldUntil(seen).String())
}
