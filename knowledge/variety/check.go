package variety

import (
	"math"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Check returns the first fault of the variety's fields, as a sentence that says what to give instead; nil where all
// serve. Only the name is required. Days are checked as such, not against a place.
func (v Variety) Check() error {
	for _, check := range []func() error{v.checkTexts, v.checkKind, v.checkTiming, v.checkStops, v.checkNumbers, v.checkRights} {
		if err := check(); err != nil {
			return err
		}
	}
	return nil
}

func (v Variety) checkTexts() error {
	name, err := CleanName(v.Name)
	if err != nil {
		return err
	}
	if name != v.Name {
		return fault.New(fault.Unclear, "The name has spaces or accents to tidy; give it as %q.", name)
	}
	for _, text := range []string{v.Colour, v.Licence} {
		if err := checkText(text); err != nil {
			return err
		}
	}
	return nil
}

// checkText holds an optional short text to the rules of a name.
func checkText(text string) error {
	if text == "" {
		return nil
	}
	if _, err := CleanName(text); err != nil {
		return fault.New(fault.Unclear, "%.80q cannot be kept; give at most %d plain characters.", text, MaxName).Because(err)
	}
	return nil
}

func (v Variety) checkKind() error {
	if !v.Section.IsZero() {
		if err := v.Section.check(); err != nil {
			return err
		}
	}
	season, form := v.Section.Season(), v.Section.Form()
	switch {
	case !slices.Contains([]Season{AnySeason, Early, Mid, Late}, v.Season):
		return fault.New(fault.Unclear, "%q is no season; give early, mid or late.", v.Season)
	case v.Form != AnyForm && !slices.Contains(Forms(), v.Form):
		return fault.New(fault.Unclear, "%q is no flower form; give one such as incurved, single or spray.", v.Form)
	case v.USClass < 0 || v.USClass > len(usClasses):
		return fault.New(fault.Unclear, "There is no US class %d: they run from 1 to 13. Give one of these, or the form.", v.USClass)
	case !v.Section.IsZero() && v.Season != AnySeason && v.Season != season:
		return fault.New(fault.Unclear, "Section %s blooms %s, not %s; leave one of the two out.", v.Section, season, v.Season)
	case !v.Section.IsZero() && v.Form != AnyForm && v.Form != form:
		return fault.New(fault.Unclear, "Section %s is %s, not %s; leave one of the two out.", v.Section, form, v.Form)
	}
	return nil
}

func (v Variety) checkTiming() error {
	if err := CheckResponse(v.Response); v.Response != 0 && err != nil {
		return err
	}
	c := v.Critical
	if c != (Critical{}) && !(c.Flower >= 8 && c.Flower <= c.Bud && c.Bud <= 18) {
		return fault.New(fault.Unclear, "Critical day lengths of %g h for buds and %g h for flower do not fit; give both, from 8 to 18 h, the one for flower no longer.", c.Bud, c.Flower)
	}
	if v.Natural != (Natural{}) {
		return checkDay(v.Natural.On, v.Natural.Lat, "natural bloom")
	}
	return nil
}

// CheckResponse returns a fault unless weeks is a response group: 6 to 15 in halves (Larsen & Persson 1999).
func CheckResponse(weeks float64) error {
	if !(weeks >= 6 && weeks <= 15 && weeks*2 == math.Trunc(weeks*2)) {
		return fault.New(fault.Unclear, "A response of %g weeks does not exist; give 6 to 15 weeks in halves, such as 9.5.", weeks)
	}
	return nil
}

func (v Variety) checkStops() error {
	for _, s := range v.Stops {
		if err := checkDay(s.On, s.Lat, "stop"); err != nil {
			return err
		}
		if err := checkText(s.Source); err != nil {
			return err
		}
		for _, later := range []struct {
			on   calendar.Annual
			what string
		}{{s.Second, "second stop"}, {s.Bloom, "bloom"}} {
			if later.on.IsZero() {
				continue
			}
			if err := checkDay(later.on, s.Lat, later.what); err != nil {
				return err
			}
			if days := daysOn(s.On, later.on); days < 1 || days > 300 {
				return fault.New(fault.Unclear, "A %s on %s does not follow a stop on %s; give the stop first.", later.what, later.on, s.On)
			}
		}
		if !s.Second.IsZero() && !s.Bloom.IsZero() && daysOn(s.On, s.Second) >= daysOn(s.On, s.Bloom) {
			return fault.New(fault.Unclear, "A second stop on %s is not before the bloom on %s; put the days in order.", s.Second, s.Bloom)
		}
	}
	return nil
}

// daysOn counts the days from one day of the year on to the next time that the other comes.
func daysOn(from, to calendar.Annual) int {
	days := to.In(2001).Sub(from.In(2001))
	return (days + 365) % 365
}

func checkDay(on calendar.Annual, lat float64, what string) error {
	if on.IsZero() || on.In(2000).Annual() != on {
		return fault.New(fault.Unclear, "The %s has no day of the year; give one such as 5 nov.", what)
	}
	if !(lat >= -90 && lat <= 90) {
		return fault.New(fault.Unclear, "The %s is given for a latitude of %g°; give one from -90 to 90, north positive.", what, lat)
	}
	return nil
}

func (v Variety) checkNumbers() error {
	switch {
	case v.StopsWanted < 0 || v.StopsWanted > 2:
		return fault.New(fault.Unclear, "A plant is stopped once or twice, not %d times; give 1 or 2.", v.StopsWanted)
	case v.Kept < 0 || v.Kept > 50:
		return fault.New(fault.Unclear, "A plant does not carry %d stems; give 1 to 50.", v.Kept)
	case !(v.Shoots >= 0 && v.Shoots <= 100):
		return fault.New(fault.Unclear, "A stool does not give %g shoots; give the usable shoots on average, up to 100.", v.Shoots)
	}
	return nil
}

func (v Variety) checkRights() error {
	switch {
	case !slices.Contains([]Protection{Unknown, Free, Protected, Licensed}, v.Protection):
		return fault.New(fault.Unclear, "%q says nothing of breeders' rights; give unknown, free, protected or licensed.", v.Protection)
	case v.Protection == Free && !v.Until.IsZero():
		return fault.New(fault.Unclear, "A free variety is not protected until %s; give protected, or leave the day out.", v.Until.Long())
	case v.Protection == Licensed && v.Licence == "":
		return fault.New(fault.Unclear, "A licensed variety needs its licence; give the holder or the number.")
	}
	return nil
}
