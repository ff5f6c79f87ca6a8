package requests_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot/requests"
)

func TestStepsAreReadInOtherForms(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]string{
		"woke bronze fleet": "wake bronze fleet", "woken bronze": "wake bronze", "waking": "wake",
		"stopped mum": "stop mum", "stopping mum": "stop mum", "pinched mum": "pinch mum",
		"watering": "water", "fed mum": "feed mum", "struck mum": "strike mum", "striking mum": "strike mum",
		"potted on mum": "pot on mum", "planted out mum": "plant out mum", "cutting down mum": "cut down mum", "boxed mum": "box mum",
	} {
		require.Contains(t, requests.AsNamed(typed), want)
	}
	for _, typed := range []string{"", "fly mum", "stopper mum", "waters", "pots", "plant mum", "mum", "stop mum", "'"} {
		require.NotContains(t, requests.AsNamed(typed), "stop mum", typed)
		require.NotContains(t, requests.AsNamed(typed), "plant out mum", typed)
	}
	require.True(t, requests.Begins("bronze", "bronze fleet 2027-11-05"))
	require.True(t, requests.Begins("br fl", "bronze fleet 2027-11-05"))
	require.False(t, requests.Begins("fleet bronze", "bronze fleet"))
	require.False(t, requests.Begins("", "bronze fleet"))
}
