package scheduler

import "shortday/knowledge/calendar"

// zones are those in which hours are struck.
type zones struct{ calendar.Zones }

// times reads times that were set; the zero Times for none.
func (z *zones) times(text, zone string) (Times, error) {
	if text == "" {
		return Times{}, nil
	}
	loaded, err := z.Load(zone)
	if err != nil {
		return Times{}, err
	}
	return ReadTimes(text, loaded)
}
