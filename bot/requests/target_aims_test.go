package requests

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

func TestReadAims(t *testing.T) {
	t.Parallel()
	all, err := readAims("2027-11-05 40 Saltmarsh; 2027-11-06 7 Red; White: for Oona")
	require.NoError(t, err)
	require.Equal(t, []aim{
		{on: calendar.DayOf(2027, 11, 5), stems: 40, what: "Saltmarsh"},
		{on: calendar.DayOf(2027, 11, 6), stems: 7, what: "Red; White: for Oona"},
	}, all)
	for _, text := range []string{"", ";", "; ;", "Saltmarsh", "2027-11-05 Saltmarsh", "5nov 40 Saltmarsh", "2027-11-05 0 Saltmarsh", "2027-11-05 4", "2027-11-05 4x Saltmarsh"} {
		_, err := readAims(text)
		require.Equal(t, fault.Unclear, fault.KindOf(err), text)
	}
}

func FuzzReadAims(f *testing.F) {
	f.Add("2027-11-05 40 Saltmarsh; 2027-11-06 7 Copper Latch for Oona")
	f.Add("2027-11-05 1 ;2027-11-05 1 ;")
	f.Fuzz(func(t *testing.T, text string) {
		all, err := readAims(text)
		if err != nil {
			require.Equal(t, fault.Unclear, fault.KindOf(err))
			return
		}
		var written []string
		for _, a := range all {
			written = append(written, a.String())
		}
		again, err := readAims(strings.Join(written, "; "))
		require.NoError(t, err, written)
		require.Equal(t, all, again)
	})
}
