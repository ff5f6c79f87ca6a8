package supply

// lot is how many plants of a choice are moved at once: those that bring so many parts of a week's stems, one at least.
// Whole weeks and simple parts of them are moved first, for a planting in bloom serves its week whole or in part.
func (s *search) lot(choice, parts int) int {
	if parts == 0 {
		return 1
	}
	whole := (s.Stems-1)/s.Choices[choice].Stems + 1
	return (whole-1)/parts + 1
}

// gain is how many stems that are missing a plant of a choice brings, in the weeks that fall short, with a lot of it.
func (s *search) gain(choice, lot int) float64 {
	c := s.Choices[choice]
	if s.left[c.Stock] < lot {
		return 0
	}
	want, more := int32(s.Stems), int32(lot*c.Stems)
	gain, short := 0, s.short()
	if s.weeks[choice]&short == 0 {
		return 0
	}
	s.spent++
	for _, sp := range s.spells[choice] {
		if short>>sp.week&1 == 0 {
			continue
		}
		stems := &s.stems[sp.week]
		for _, k := range sp.seasons {
			gain += int(min(max(want-stems[k&(Seasons-1)], 0), more))
		}
	}
	return float64(gain) / float64(lot)
}

// without gives by how many seasons the weeks would fall short together if plants of a choice were left out, and in how
// many more than needed they would have their stems.
func (s *search) without(choice, n int) (lack, spare int) {
	s.spent += 2
	want := int32(s.Stems)
	until := want + int32(n*s.Choices[choice].Stems)
	spells := s.spells[choice]
	for w, need := range s.need {
		good := s.good[w]
		if len(spells) > 0 && spells[0].week == w {
			stems := &s.stems[w]
			for _, k := range spells[0].seasons {
				if had := stems[k&(Seasons-1)]; had >= want && had < until {
					good--
				}
			}
			spells = spells[1:]
		}
		lack += max(0, need-good)
		spare += good - need
	}
	return lack, spare
}

// relief is by how much less would be missing with a lot of a choice more.
func (s *search) relief(choice, lot int) (relief int) {
	s.spent++
	want := int32(s.Stems)
	from := want - int32(lot*s.Choices[choice].Stems)
	for _, sp := range s.spells[choice] {
		missing := s.need[sp.week] - s.good[sp.week]
		if missing <= 0 {
			continue
		}
		stems, gained := &s.stems[sp.week], 0
		for _, k := range sp.seasons {
			if n := stems[k&(Seasons-1)]; n < want && n >= from {
				gained++
			}
		}
		relief += min(gained, missing)
	}
	return relief
}
