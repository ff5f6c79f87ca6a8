package variety_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

func TestClasses(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	var sections []int
	for _, c := range variety.Classes() {
		require.False(t, seen[c.Name], c.Name)
		seen[c.Name] = true
		require.NotEmpty(t, c.Note, c.Name)
		require.NotContains(t, sections, c.Section)
		sections = append(sections, c.Section)

		v := c.Variety()
		require.Contains(t, c.Name, string(v.Season)+" ")
		v.Name = "Amber Lane"
		require.NoError(t, v.Check(), c.Name)
		natural, _ := v.NaturalOrClass()
		require.False(t, natural.On.IsZero())

		got, err := variety.ReadClass(c.Name)
		require.NoError(t, err)
		require.Equal(t, c, got)
		got, err = variety.ReadClass(string(v.Season) + " " + string(v.Form))
		require.NoError(t, err)
		require.Equal(t, c, got)
	}
	require.Equal(t, variety.Sections(variety.AnySeason), sections)
}

func TestReadClass(t *testing.T) {
	t.Parallel()
	for text, section := range map[string]int{"Late Spray": 9, "sprays, late": 9, "mid incurve": 13, "earlies reflex": 24, "late quill": 10} {
		c, err := variety.ReadClass(text)
		require.NoError(t, err, text)
		require.Equal(t, section, c.Section, text)
	}
	for _, text := range []string{"", "mid anemone", "spray", "roses", "late"} {
		_, err := variety.ReadClass(text)
		require.Equal(t, fault.Missing, fault.KindOf(err), text)
		require.ErrorContains(t, err, "such as")
	}
}
