package raising_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/raising"
)

func TestSupplies(t *testing.T) {
	t.Parallel()
	n := raising.Numbers{Cuttings: 81, Rooted: 70, Plants: 60}
	pots := []raising.PotCount{{CM: 9, Count: 70}, {CM: 13, Count: 70}, {CM: 22, Count: 60}}
	for _, c := range []struct {
		name    string
		setting raising.Setting
		want    raising.Supply
	}{
		{"final pots", raising.Setting{},
			raising.Supply{Trays: 3, Pots: pots, Compost: 3*4 + 70*1.0 + 60*4.0, Bench: 70 * 0.13 * 0.13, Ground: 60 * 0.45 * 0.45}},
		{"a bed", raising.Setting{Bed: true, Spacing: 30},
			raising.Supply{Trays: 3, Pots: pots[:2], Compost: 3*4 + 70*1.0, Bench: 70 * 0.13 * 0.13, Ground: 60 * 0.3 * 0.3}},
		{"straight from the tray", raising.Setting{Cells: 81, TrayLitres: 8, TrayBench: 0.3, Bed: true, Pots: []raising.Pot{{CM: 13, Litres: 1}}},
			raising.Supply{Trays: 1, Compost: 8, Bench: 0.3, Ground: 60 * 0.45 * 0.45}},
	} {
		got, err := raising.Supplies(n, c.setting)
		require.NoError(t, err, c.name)
		require.Equal(t, c.want.Trays, got.Trays, c.name)
		require.Equal(t, c.want.Pots, got.Pots, c.name)
		require.InDelta(t, c.want.Compost, got.Compost, 1e-9, c.name)
		require.InDelta(t, c.want.Bench, got.Bench, 1e-9, c.name)
		require.InDelta(t, c.want.Ground, got.Ground, 1e-9, c.name)
	}
}

func TestSuppliesRefused(t *testing.T) {
	t.Parallel()
	for name, s := range map[string]raising.Setting{
		"cells":         {Cells: -1},
		"tray litres":   {TrayLitres: -1},
		"bench":         {TrayBench: 11},
		"spacing":       {Spacing: 0.1},
		"pots shrink":   {Pots: []raising.Pot{{CM: 13, Litres: 1}, {CM: 9, Litres: 0.3}}},
		"compost fades": {Pots: []raising.Pot{{CM: 9, Litres: 1}, {CM: 13, Litres: 1}}},
	} {
		_, err := raising.Supplies(raising.Numbers{}, s)
		require.Error(t, err, name)
	}
}
