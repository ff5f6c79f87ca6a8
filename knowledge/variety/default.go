package variety

// FormOrGuess gives the form from the field, else the section, else the form nearest to the US class, and what it was
// taken from. AnyForm, with an empty source, where none of them is known.
func (v Variety) FormOrGuess() (form Form, source string) {
	printed, nearest := USForm(v.USClass)
	switch {
	case v.Form != AnyForm:
		return v.Form, "as given"
	case v.Section.Form() != AnyForm:
		return v.Section.Form(), "NCS (UK) section " + v.Section.String()
	case nearest != AnyForm:
		return nearest, "nearest to US class " + printed
	}
	return AnyForm, ""
}

// CriticalOrDefault gives the critical day lengths in hours and their source.
func (v Variety) CriticalOrDefault() (Critical, string) {
	if v.Critical != (Critical{}) {
		return v.Critical, "as given"
	}
	return Critical{Bud: 14.5, Flower: 13.5}, "14 autumn cultivars at Nagano, 1952 (Hort. Assoc. Japan)"
}

// kept is how many stems a plant carries by form and season; AnySeason holds for the seasons not named. The number is
// the upper one of the last range printed.
var kept = []struct {
	form   Form
	season Season
	stems  int
	source string
}{
	{LargeExhibition, AnySeason, 2, "Evergreen Chrysanthemum Association 2018–19: 2–3, then 1–2"},
	{MediumExhibition, AnySeason, 2, "Evergreen Chrysanthemum Association 2018–19: 2–3, then 1–2"},
	{Incurved, Late, 4, "Evergreen Chrysanthemum Association 2018–19: 5, then 3–4"},
	{Reflexed, Late, 3, "Evergreen Chrysanthemum Association 2018–19: 4–5, then 2–3"},
	{Intermediate, Late, 3, "Evergreen Chrysanthemum Association 2018–19: 4–5, then 2–3"},
	{Incurved, AnySeason, 5, "Evergreen Chrysanthemum Association 2018–19: 4–5"},
	{Reflexed, AnySeason, 5, "Evergreen Chrysanthemum Association 2018–19: 4–5"},
	{Intermediate, AnySeason, 5, "Evergreen Chrysanthemum Association 2018–19: 4–5"},
	{Anemone, AnySeason, 4, "disbuds 3–4, Bay Area Chrysanthemum Society 2025"},
	{Single, AnySeason, 4, "disbuds 3–4, Bay Area Chrysanthemum Society 2025"},
	{SpiderQuillSpoon, AnySeason, 4, "disbuds 3–4, Bay Area Chrysanthemum Society 2025"},
	{Spray, AnySeason, 4, "pinched cut sprays 3–4, New York State Flower Growers Bull. 59"},
	{Pompon, AnySeason, 8, "for cutting 8 breaks, houseplantsguru.com"},
	{AnyOther, AnySeason, 8, "for cutting 8 breaks, houseplantsguru.com"},
	{CharmCascade, AnySeason, 8, "for cutting 8 breaks, houseplantsguru.com"},
	{AnyForm, AnySeason, 4, "form not known: disbuds 3–4, Bay Area Chrysanthemum Society 2025"},
}

// StemsKept gives the stems that a plant grown for cutting carries, and the source with the range it printed.
func (v Variety) StemsKept() (stems int, source string) {
	if v.Kept > 0 {
		return v.Kept, "as given"
	}
	form, _ := v.FormOrGuess()
	season, _ := v.SeasonOrGuess()
	for _, row := range kept {
		if row.form == form && (row.season == AnySeason || row.season == season) {
			return row.stems, row.source
		}
	}
	last := kept[len(kept)-1]
	return last.stems, last.source
}

// StopsWantedOrDefault gives how often the plant is stopped: as given, else as often as its dated key stops it, else once.
func (v Variety) StopsWantedOrDefault() (stops int, source string) {
	if v.StopsWanted > 0 {
		return v.StopsWanted, "as given"
	}
	for _, key := range v.Stops {
		if !key.Second.IsZero() {
			return 2, "dated stop key"
		}
	}
	return 1, "common practice"
}

// ShootsOrDefault gives the usable shoots that a woken stool gives on average.
func (v Variety) ShootsOrDefault() (shoots float64, source string) {
	if v.Shoots > 0 {
		return v.Shoots, "as given"
	}
	return 10, "common practice"
}
