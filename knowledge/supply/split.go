package supply

import "math"

// Split is which share of the variance of a lateness is common; what is left is each planting's own.
type Split struct {
	Season  float64 // common to all that blooms in a season
	Variety float64 // common to the plantings of one variety besides
}

// DefaultSplit is our own reckoning: no published figure exists. Between a year's weather and what is not known of a
// variety neither is taken for the lesser, and little is left to the single planting.
func DefaultSplit() Split { return Split{Season: 0.4, Variety: 0.4} }

// EarlierYears is how many years of records a split that is given is worth when records are weighed against it.
const EarlierYears = 5

// Bloom is one bloom on record, for Learn.
type Bloom struct {
	Variety, Member int64
	Year            int     // of its season
	Day             float64 // of the year, counted so that it can be compared between years
}

// Taught is a split with the years that taught its parts.
type Taught struct {
	Split
	Years int // years in which two varieties or more bloomed whose usual day is known
	Pairs int // years of a variety in which two members or more recorded it
}

// Learn weighs records against a split. The lateness of a bloom is taken from the mean of its member's own blooms of the
// variety; blooms of one year that are late together show the common parts. All sums are by the method of moments,
// mended for the means being taken from the same blooms; in a full table of varieties and years they are the estimates
// of the analysis of variance.
func Learn(blooms []Bloom, from Split) Taught {
	lines := linesOf(blooms)
	var all, other, same moment
	years, cells := map[int]bool{}, map[[2]int64]bool{}
	for i, a := range lines {
		for _, y := range a.years {
			all.sum += a.late[y] * a.late[y]
		}
		all.weight += float64(len(a.years) - 1)
		for _, b := range lines[:i] {
			shared, sum := 0, 0.0
			for _, y := range a.years {
				if late, ok := b.late[y]; ok {
					shared++
					sum += a.late[y] * late
					if a.variety != b.variety {
						years[y] = true
					} else {
						cells[[2]int64{a.variety, int64(y)}] = true
					}
				}
			}
			m, na, nb := float64(shared), float64(len(a.years)), float64(len(b.years))
			weight := m * (1 - 1/na - 1/nb + m/(na*nb))
			if a.variety != b.variety {
				other.add(sum, weight)
			} else {
				same.add(sum, weight)
			}
		}
	}
	out := Taught{Split: from}
	total := all.mean()
	if total <= 0 {
		return out
	}
	if len(years) > 1 && other.weight > 0 {
		out.Years = len(years)
		out.Season = weighed(from.Season, other.mean()/total, len(years)-1)
	}
	common := from.Season + from.Variety
	if len(cells) > 1 && same.weight > 0 {
		out.Pairs = len(cells)
		common = weighed(common, same.mean()/total, len(cells)-1)
	}
	out.Variety = max(0, common-out.Season)
	return out
}

// moment is a sum with the variance it is expected to be a multiple of.
type moment struct{ sum, weight float64 }

func (m *moment) add(sum, weight float64) {
	m.sum += sum
	m.weight += weight
}

func (m *moment) mean() float64 {
	if m.weight <= 0 {
		return 0
	}
	return m.sum / m.weight
}

// weighed sets a share that was seen over so many years against one that counts as EarlierYears. A little is always left
// to the single planting.
func weighed(from, seen float64, years int) float64 {
	seen = min(max(seen, 0), 0.95)
	return (EarlierYears*from + float64(years)*seen) / float64(EarlierYears+years)
}

// line is a member's blooms of one variety over the years, as lateness against their mean.
type line struct {
	variety int64
	years   []int
	late    map[int]float64
}

// linesOf gathers blooms; of several in one year the mean counts, and lines of one year say nothing.
func linesOf(blooms []Bloom) []line {
	type who struct{ variety, member int64 }
	sums, counts := map[who]map[int]float64{}, map[who]map[int]int{}
	var order []who
	for _, b := range blooms {
		w := who{b.Variety, b.Member}
		if sums[w] == nil {
			sums[w], counts[w] = map[int]float64{}, map[int]int{}
			order = append(order, w)
		}
		sums[w][b.Year] += b.Day
		counts[w][b.Year]++
	}
	var lines []line
	for _, w := range order {
		if len(sums[w]) < 2 {
			continue
		}
		l := line{variety: w.variety, late: map[int]float64{}}
		mean := 0.0
		for _, y := range sortedKeys(sums[w]) {
			l.years = append(l.years, y)
			l.late[y] = sums[w][y] / float64(counts[w][y])
			mean += l.late[y] / float64(len(sums[w]))
		}
		for _, y := range l.years {
			l.late[y] -= mean
		}
		lines = append(lines, l)
	}
	return lines
}

// parts gives how much of each part of the lateness goes into a planting, in deviations.
func (s Split) parts() (season, variety, own float64) {
	common := min(max(s.Season, 0), 1)
	second := min(max(s.Variety, 0), 1-common)
	return math.Sqrt(common), math.Sqrt(second), math.Sqrt(1 - common - second)
}
