package variety_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

// published reads a table of testdata/published without its heading.
func published(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../testdata/published/" + name)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 1)
	return rows[1:]
}

func TestSectionsPublished(t *testing.T) {
	t.Parallel()
	seen := map[int]bool{}
	rows := published(t, "ncs-sections.csv")
	for i, row := range rows {
		form := variety.Form(row[0])
		require.Equal(t, form, variety.Forms()[i])
		for col, season := range []variety.Season{variety.Late, variety.Mid, variety.Early} {
			n, _ := strconv.Atoi(row[col+1])
			require.Equal(t, n, variety.SectionOf(season, form).Number, row)
			if n == 0 {
				continue
			}
			s, err := variety.ReadSection(row[col+1])
			require.NoError(t, err)
			require.Equal(t, season, s.Season())
			require.Equal(t, form, s.Form())
			seen[n] = true
		}
	}
	require.Len(t, variety.Forms(), len(rows))
	for n := range 40 {
		_, err := variety.ReadSection(strconv.Itoa(n))
		require.Equal(t, seen[n], err == nil && n > 0, n)
	}
	require.Equal(t, []int{13, 14, 15, 17, 18, 19, 20}, variety.Sections(variety.Mid))
	require.Len(t, variety.Sections(variety.AnySeason), 28)
}

func TestReadSection(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"25b": "25b medium", "9d": "9d single", "NCS 3": "3 ", " ncs(uk) 9 (D) ": "9d single", "Section 29c": "29c reflexed",
		"sec. 3A": "3a large", "s08b": "8b semi-pompon", "12b": "12b ", "9z": "9z ", "２５ｂ": "25b medium", "03": "3 ",
	} {
		s, err := variety.ReadSection(text)
		require.NoError(t, err, text)
		require.Equal(t, want, s.String()+" "+s.Kind(), text)
	}
	for text, part := range map[string]string{
		"16": "6 (late) and 26 (early)", "16b": "no section 16", "21": "no section 21", "0": "from 1 to 30", "31": "from 1 to 30",
		"25bb": "as in 25b", "": "as in 25b", "b25": "as in 25b", "250": "as in 25b", "late": "as in 25b", "9é)": "as in 25b",
	} {
		s, err := variety.ReadSection(text)
		require.ErrorContains(t, err, part, text)
		require.Equal(t, fault.Unclear, fault.KindOf(err))
		require.Zero(t, s, text)
	}
}

func FuzzReadSection(f *testing.F) {
	for _, seed := range []string{"25b", "9 (d)", "NCS 3", "16", "21a", "ncs(uk) section 29c", "٣", "0", "00"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := variety.ReadSection(text)
		if err != nil {
			require.Equal(t, fault.Unclear, fault.KindOf(err))
			return
		}
		require.NotEqual(t, variety.AnySeason, s.Season())
		require.NotEqual(t, variety.AnyForm, s.Form())
		again, err := variety.ReadSection(s.String())
		require.NoError(t, err)
		require.Equal(t, s, again)
	})
}
