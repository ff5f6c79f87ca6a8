package scheduler

import (
	"sync"
	"time"
)

// zones are those in use: reading one takes far longer than striking an hour in it.
type zones struct{ loaded sync.Map }

// load gives a zone by its name; UTC while none is known.
func (z *zones) load(name string) (*time.Location, error) {
	if zone, ok := z.loaded.Load(name); ok {
		return zone.(*time.Location), nil // load alone stores
	}
	zone, err := time.LoadLocation(name) // "" is UTC
	if err != nil {
		return nil, err
	}
	z.loaded.Store(name, zone)
	return zone, nil
}

// times reads times that were set; the zero Times for none.
func (z *zones) times(text, zone string) (Times, error) {
	if text == "" {
		return Times{}, nil
	}
	loaded, err := z.load(zone)
	if err != nil {
		return Times{}, err
	}
	return ReadTimes(text, loaded)
}
