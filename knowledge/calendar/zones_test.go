package calendar_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
)

func TestZones(t *testing.T) {
	t.Parallel()
	var zones calendar.Zones
	for range 2 {
		zone, err := zones.Load("Asia/Kathmandu")
		require.NoError(t, err)
		require.Equal(t, "Asia/Kathmandu", zone.String())
		zone, err = zones.Load("")
		require.NoError(t, err)
		require.Equal(t, "UTC", zone.String())
		_, err = zones.Load("Nowhere/At_All")
		require.Error(t, err)
	}
}
