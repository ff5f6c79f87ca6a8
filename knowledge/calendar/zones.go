package calendar

import (
	"sync"
	"time"
)

// Zones are time zones in use: to read one takes far longer than to reckon in it. The zero Zones is ready, for many
// goroutines at once.
type Zones struct{ loaded sync.Map }

// Load gives a zone by its IANA name; UTC for "".
func (z *Zones) Load(name string) (*time.Location, error) {
	if zone, ok := z.loaded.Load(name); ok {
		return zone.(*time.Location), nil // Load alone stores
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return nil, err
	}
	z.loaded.Store(name, zone)
	return zone, nil
}
