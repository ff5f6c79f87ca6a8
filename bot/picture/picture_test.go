package picture_test

import (
	"bytes"
	"flag"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/picture"
	"shortday/knowledge/calendar"
)

var update = flag.Bool("update", false, "write the golden pictures anew; then look at them")

type drawing interface {
	Draw() ([]byte, error)
	Alt() string
}

func on(month time.Month, day int) calendar.Day { return calendar.DayOf(2027, month, day) }

func about(d calendar.Day, days int) calendar.Window {
	return calendar.Window{Earliest: d.Add(-days), Likely: d, Latest: d.Add(days)}
}

func plans() picture.Plans {
	row := func(name, below string, shift int, done int) picture.PlanRow {
		r := picture.PlanRow{Name: name, Below: below}
		for i, m := range []picture.Mark{
			{Name: "wake", Window: about(on(time.January, 20), 14), Work: picture.Raising}, {Name: "cut", Window: about(on(time.February, 14), 12), Work: picture.Raising},
			{Name: "strike", Window: about(on(time.February, 14), 12), Work: picture.Raising}, {Name: "pot", Window: about(on(time.March, 8), 12)},
			{Name: "pot on", Window: about(on(time.April, 8), 14)}, {Name: "plant out", Window: about(on(time.May, 14), 7)},
			{Name: "stop", Window: about(on(time.May, 31), 3), Work: picture.Shaping}, {Name: "disbud", Window: about(on(time.September, 21), 10), Work: picture.Shaping},
			{Name: "house", Window: about(on(time.September, 28), 5)}, {Name: "pick", Window: about(on(time.November, 5), 12), Work: picture.Blooming},
			{Name: "lift", Window: about(on(time.November, 24), 14), Work: picture.Resting}, {Name: "box", Window: about(on(time.November, 26), 14), Work: picture.Resting},
		} {
			m.Window = calendar.Window{Earliest: m.Window.Earliest.Add(shift), Likely: m.Window.Likely.Add(shift), Latest: m.Window.Latest.Add(shift)}
			if i < done {
				m.Done, m.Window = true, calendar.On(m.Window.Likely)
			}
			r.Marks = append(r.Marks, m)
		}
		return r
	}
	return picture.Plans{Title: "Oona: 3 plans", Note: "A step that is done stands on its day; one to come on its likely day, with the days in which it falls nine years in ten.",
		From: on(time.January, 1), To: on(time.December, 31), Today: on(time.April, 12),
		Rows: []picture.PlanRow{row("Saltmarsh", "for Fri 5 Nov 2027, 200 stems", 0, 4), row("A Name That Is Quite Long, as Names Can Be", "for Fri 24 Sep 2027", -30, 6), row("月光", "kept from year to year", 10, 0)}}
}

func dayLength() picture.DayLength {
	d := picture.DayLength{Title: "Day length in 2027 at 53.1° N, 6.7° W", Note: "Reckoned from sunrise to sunset.", From: on(time.January, 1), Hours: make([]float64, 365), Today: on(time.April, 12),
		Levels: []picture.Level{{Name: "buds are set", Hours: 14.5, Passed: []calendar.Day{on(time.April, 25), on(time.August, 18)}},
			{Name: "they go on to flower", Hours: 13.5, Passed: []calendar.Day{on(time.April, 9), on(time.September, 4)}}},
		Spans: []picture.Span{{Name: "black-out, Ninepence", From: on(time.June, 20), To: on(time.July, 25)}}}
	for i := range d.Hours {
		d.Hours[i] = 12.25 - 4.75*math.Cos(2*math.Pi*float64(i+10)/365)
	}
	return d
}

func supply() picture.Supply {
	s := picture.Supply{Title: "Supply of Tallow Lane Growers", Note: "A column is what a week brings on average; the whisker is nine seasons in ten of their sum.", Parts: []string{"early", "mid", "late"}}
	for i := range 16 {
		early, mid, late := 120*math.Exp(-math.Pow(float64(i-3), 2)/4), 200*math.Exp(-math.Pow(float64(i-7), 2)/5), 260*math.Exp(-math.Pow(float64(i-11), 2)/6)
		sum := early + mid + late
		w := picture.SupplyWeek{From: on(time.September, 6).Add(7 * i), Expected: []float64{early, mid, late}, Low: sum * 0.6, High: sum * 1.5}
		if i%3 == 1 {
			w.Promised = 150
		}
		s.Weeks = append(s.Weeks, w)
	}
	return s
}

func count() picture.Count {
	return picture.Count{Title: "Batch 26-3: Saltmarsh", Note: "How the number came about: what was added in green, what went in vermilion.", Deeds: []picture.CountDeed{
		{Name: "raised", On: on(time.February, 3), Delta: 60}, {Name: "lost", On: on(time.March, 1), Delta: -7}, {Name: "given", On: on(time.March, 14), Delta: -12},
		{Name: "recounted", On: on(time.April, 2), Delta: 2}, {Name: "received", On: on(time.April, 9), Delta: 5},
	}}
}

func drawings() map[string]drawing {
	return map[string]drawing{"plans": plans(), "daylength": dayLength(), "supply": supply(), "count": count(),
		"plans-none":  picture.Plans{Title: "Nobody: no plan", From: on(time.January, 1), To: on(time.January, 31)},
		"supply-none": picture.Supply{Title: "No supply"}, "count-none": picture.Count{Title: "No deed"},
		"daylength-flat": picture.DayLength{Title: "Light throughout", From: on(time.January, 1), Hours: []float64{24, 24}}}
}

// A golden picture was looked at by a person before it was kept. Letters are smoothed a little differently from machine to
// machine, so the mean difference of a channel may be half a step of 255, and one pixel in 500 may differ plainly.
func TestPictures(t *testing.T) {
	t.Parallel()
	for name, d := range drawings() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			data, err := d.Draw()
			require.NoError(t, err)
			require.Less(t, len(data), 500_000, "small enough to send anywhere")
			golden := filepath.Join("testdata", name+".png")
			if *update {
				require.NoError(t, os.WriteFile(golden, data, 0o600))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			mean, plain := differ(t, decode(t, want), decode(t, data))
			require.Less(t, mean, 0.5)
			require.Less(t, plain, 0.002)
		})
	}
}

func decode(t *testing.T, data []byte) image.Image {
	t.Helper()
	m, err := png.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	require.Equal(t, 1800, m.Bounds().Dx(), "twice 900, for telephones")
	return m
}

// differ gives the mean difference of a channel, of 255, and the share of pixels that differ by more than a quarter.
func differ(t *testing.T, a, b image.Image) (mean, plain float64) {
	t.Helper()
	require.Equal(t, a.Bounds(), b.Bounds())
	var sum, far, n float64
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			ar, ag, ab, _ := a.At(x, y).RGBA()
			br, bg, bb, _ := b.At(x, y).RGBA()
			most := 0.0
			for _, pair := range [][2]uint32{{ar, br}, {ag, bg}, {ab, bb}} {
				d := math.Abs(float64(pair[0])-float64(pair[1])) / 257
				sum, most = sum+d, max(most, d)
			}
			if most > 64 {
				far++
			}
			n++
		}
	}
	return sum / (3 * n), far / n
}

func TestThePicturesCompareAsTheyShould(t *testing.T) {
	t.Parallel()
	moved := plans()
	moved.Today = moved.Today.Add(60)
	was, err := plans().Draw()
	require.NoError(t, err)
	is, err := moved.Draw()
	require.NoError(t, err)
	_, plain := differ(t, decode(t, was), decode(t, is))
	require.Greater(t, plain, 0.0005, "another day is another picture")
}

func TestAlternativeText(t *testing.T) {
	t.Parallel()
	for name, d := range drawings() {
		alt := d.Alt()
		require.NotEmpty(t, alt, name)
		require.LessOrEqual(t, len([]rune(alt)), 1000, name)
	}
	require.Contains(t, plans().Alt(), "Saltmarsh: 4 done; pot on 8 Apr")
	require.Contains(t, dayLength().Alt(), "passes 14.5 h (buds are set) on 25 Apr and 18 Aug")
	require.Contains(t, supply().Alt(), "150 promised")
	require.Contains(t, count().Alt(), "lost -7 on 1 Mar makes 53")
}

func BenchmarkPictures(b *testing.B) {
	for name, d := range map[string]drawing{"plans": plans(), "daylength": dayLength(), "supply": supply(), "count": count()} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				data, err := d.Draw()
				require.NoError(b, err)
				b.SetBytes(int64(len(data)))
			}
		})
	}
}
