package calendar

import "math"

// Window is a day that is known only so far: it falls between Earliest and Latest nine times in ten, and on either
// side of Likely equally often. A day that is known, because it was done, is a window of one day.
type Window struct {
	Earliest, Likely, Latest Day
}

// On gives the window of a known day.
func On(d Day) Window { return Window{d, d, d} }

// Span is a time in days that is known only so far: between Min and Max nine times in ten, most likely Likely.
type Span struct {
	Min, Likely, Max int
}

// Days gives the span of exactly n days.
func Days(n int) Span { return Span{n, n, n} }

// Weeks gives a span in weeks, for rules that are printed so.
func Weeks(least, likely, most float64) Span {
	days := func(w float64) int { return int(math.Round(w * 7)) }
	return Span{days(least), days(likely), days(most)}
}

// After moves the window later by a span that varies independently of it: the likely days add, and the distances to
// either edge add as the root of the sum of squares.
func (w Window) After(s Span) Window {
	likely := w.Likely.Add(s.Likely)
	return Window{
		Earliest: likely.Add(-quadrature(w.Likely.Sub(w.Earliest), s.Likely-s.Min)),
		Likely:   likely,
		Latest:   likely.Add(quadrature(w.Latest.Sub(w.Likely), s.Max-s.Likely)),
	}
}

// Before moves the window earlier by a span: the day to start on so that the window is met.
// Before and After of one span return to the same likely day.
func (w Window) Before(s Span) Window {
	likely := w.Likely.Add(-s.Likely)
	return Window{
		Earliest: likely.Add(-quadrature(w.Likely.Sub(w.Earliest), s.Max-s.Likely)),
		Likely:   likely,
		Latest:   likely.Add(quadrature(w.Latest.Sub(w.Likely), s.Likely-s.Min)),
	}
}

// Shift moves the whole window by n days.
func (w Window) Shift(n int) Window {
	return Window{w.Earliest.Add(n), w.Likely.Add(n), w.Latest.Add(n)}
}

// Contains reports whether the day lies in the window.
func (w Window) Contains(d Day) bool { return w.Earliest <= d && d <= w.Latest }

// IsZero reports whether there is no window.
func (w Window) IsZero() bool { return w == Window{} }

// Known reports whether the window is one day.
func (w Window) Known() bool { return w.Earliest == w.Latest }

// String gives the likely day with the window where there is one: "Fri 5 Nov 2027 (28 Oct – 13 Nov)".
func (w Window) String() string {
	if w.Known() {
		return w.Likely.Long()
	}
	return w.Likely.Long() + " (" + w.Earliest.Annual().String() + " – " + w.Latest.Annual().String() + ")"
}

func quadrature(a, b int) int { return int(math.Round(math.Hypot(float64(a), float64(b)))) }
