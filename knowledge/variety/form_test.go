package variety_test

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

func TestReadForm(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]variety.Form{
		"Incurved": variety.Incurved, "incurve": variety.Incurved, "REFLEXES": variety.Reflexed, "pom-pom": variety.Pompon,
		"sprays": variety.Spray, "quill": variety.SpiderQuillSpoon, "charm": variety.CharmCascade, "other": variety.AnyOther,
	} {
		form, err := variety.ReadForm(text)
		require.NoError(t, err, text)
		require.Equal(t, want, form, text)
	}
	for _, form := range variety.Forms() {
		got, err := variety.ReadForm(string(form))
		require.NoError(t, err)
		require.Equal(t, form, got)
	}
	_, err := variety.ReadForm("anemona")
	require.ErrorContains(t, err, `did you mean "anemone"?`)
	for _, text := range []string{"", "rose", "16"} {
		_, err := variety.ReadForm(text)
		require.ErrorContains(t, err, `give one of "large exhibition"`)
		require.Equal(t, fault.Unclear, fault.KindOf(err))
	}
}

func TestUSClassesPublished(t *testing.T) {
	t.Parallel()
	for _, row := range published(t, "us-classes.csv") {
		class, err := strconv.Atoi(row[0])
		require.NoError(t, err)
		printed, nearest := variety.USForm(class)
		require.Equal(t, row[1], printed)
		require.Contains(t, variety.Forms(), nearest)
	}
	for _, class := range []int{-1, 0, 14} {
		printed, nearest := variety.USForm(class)
		require.Empty(t, printed)
		require.Equal(t, variety.AnyForm, nearest)
	}
}
