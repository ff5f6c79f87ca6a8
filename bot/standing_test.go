package bot_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
)

func TestUnitsAreTheAskers(t *testing.T) {
	t.Parallel()
	metric, us := bot.Standing{}, bot.Standing{Fahrenheit: true, Inches: true}
	for _, c := range []struct {
		celsius, cm float64
		shown       [4]string
	}{
		{16, 45, [4]string{"16 °C", "45 cm", "61 °F", "17.7 in"}},
		{-40, 2.54, [4]string{"-40 °C", "2.5 cm", "-40 °F", "1 in"}},
		{4.5, 120, [4]string{"4.5 °C", "120 cm", "40 °F", "47.2 in"}},
		{-17.8, -0.01, [4]string{"-17.8 °C", "0 cm", "0 °F", "0 in"}},
		{0, 0, [4]string{"0 °C", "0 cm", "32 °F", "0 in"}},
	} {
		require.Equal(t, c.shown, [4]string{
			metric.WriteTemperature(c.celsius), metric.WriteLength(c.cm), us.WriteTemperature(c.celsius), us.WriteLength(c.cm),
		})
	}
}
