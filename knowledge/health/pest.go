// Package health knows the pests that travel with stock: how long they stay hidden, where they may have come from and
// gone along lineage and handovers, and how long plants are held back. It leaves the records to its caller.
package health

import (
	"slices"
	"strings"

	"golang.org/x/text/cases"

	"shortday/knowledge/fault"
)

// Key names a pest in records.
type Key string

// The pests that travel with chrysanthemum stock.
const (
	WhiteRust     Key = "white-rust"
	StuntViroid   Key = "stunt-viroid"
	SpottedWilt   Key = "spotted-wilt"
	LeafEelworm   Key = "leaf-eelworm"
	Verticillium  Key = "verticillium"
	Other         Key = "other"
	season            = 365 // days
	notifyCaution     = "Ask your plant-health authority first: whether it must be told, and what may be moved, is for it to say."
	labelCaution      = "On sprays, the label and a licensed adviser decide; no rates are given here."
)

// Pest is what is said of one pest, each saying with its source.
type Pest struct {
	Key         Key
	Name, Latin string // no Latin name for "other"
	Hidden      Hidden
	Cautions    []string // shown with every reply on it, see Heeded
	Reportable  []Country
	Said        []Saying // what it looks like and what is said to be done
	Differ      []Difference
}

// Hidden is how many days a pest may be carried before it shows.
type Hidden struct {
	BackMin int  // back from the day it was seen, where it shows soonest
	BackMax int  // back from the day it was seen, where it shows latest: as far as a trace goes
	Forward int  // on from the day it was seen
	Season  bool // reckoned as one growing season, because it shows by the crop's stage and not by days
	Source  string
}

// Country is one in which a pest is known to be reportable, and who says so.
type Country struct {
	Name, Source string
	names        string
}

// Saying is one statement and who makes it.
type Saying struct {
	Text, Source string
}

// Difference is a question that sources answer differently: all answers are shown, none is chosen.
type Difference struct {
	On   string
	Said []Saying
}

// rustSource tells both how white rust shows and where it is reportable.
const rustSource = "USDA-APHIS via Nursery Management; BC Ministry of Agriculture"

// ours marks what is inferred from the facts named beside it.
const ours = "our own inference"

// Pests lists the pests in the order in which they are offered; "other" comes last.
func Pests() []Pest {
	return []Pest{
		{
			Key: WhiteRust, Name: "white rust", Latin: "Puccinia horiana",
			Hidden: Hidden{
				BackMin: 14, BackMax: 56, Forward: 56,
				Source: "USDA-APHIS via Nursery Management; BC Ministry of Agriculture; NAPPO 352; the days are " + ours,
			},
			Cautions:   []string{notifyCaution, labelCaution},
			Reportable: []Country{{"the United States", rustSource, unitedStates}, {"Canada", rustSource, canada}},
			Said: []Saying{
				{"Stock that comes in stands apart for 56 days.", ours},
				{"It is reportable in the United States and Canada.", rustSource},
				{"It is not notifiable in gardens of the United Kingdom.", "RHS"},
			},
			Differ: []Difference{
				{"how long it stays hidden", []Saying{
					{"Symptoms show after 5 to 14 days, in hot weather after up to 8 weeks.", rustSource},
					{"One site broke out again after 55 days.", "NAPPO 352"},
				}},
			},
		},
		{
			Key: StuntViroid, Name: "stunt viroid", Latin: "Chrysanthemum stunt viroid",
			Hidden:   Hidden{BackMin: 90, BackMax: 90, Forward: 90, Source: "INRAE; EPPO 2023"},
			Cautions: []string{notifyCaution},
			Said: []Saying{
				{"It stays hidden for 2 to 3 months, and about 30 % of cultivars never show it: a batch without symptoms may still carry it.", "INRAE; EPPO 2023"},
				{"Knives and hands spread it.", "INRAE; EPPO 2023"},
			},
		},
		{
			Key: SpottedWilt, Name: "spotted wilt virus", Latin: "Tomato spotted wilt virus",
			Hidden:   Hidden{BackMin: 70, BackMax: 70, Forward: 70, Source: "MSU Extension"},
			Cautions: []string{notifyCaution, labelCaution},
			Said:     []Saying{{"It may stay hidden for 6 to 10 weeks.", "MSU Extension"}},
		},
		{
			Key: LeafEelworm, Name: "leaf eelworm", Latin: "Aphelenchoides ritzemabosi",
			Hidden:   Hidden{BackMin: season, BackMax: season, Forward: season, Season: true, Source: ours},
			Cautions: []string{"Hot water scalds people, and kills plants if it is mis-timed.", notifyCaution},
			Said:     []Saying{{"Dormant stools are treated in hot water; local advice decides how.", "UC IPM"}},
			Differ: []Difference{{"how long dormant stools stand in hot water", []Saying{
				{"46 °C for 5 minutes.", "UC IPM, one text"},
				{"115 °F (46 °C) for 10 minutes.", "UC IPM, another text"},
			}}},
		},
		{
			Key: Verticillium, Name: "Verticillium wilt", Latin: "Verticillium dahliae",
			Hidden:   Hidden{BackMin: season, BackMax: season, Forward: season, Season: true, Source: "Cornell; the days are " + ours},
			Cautions: []string{notifyCaution, labelCaution},
			Said:     []Saying{{"It shows only once buds form, so plants that grew all season without a sign may carry it.", "Cornell"}},
		},
		{
			Key: Other, Name: "other",
			Hidden:   Hidden{BackMin: 56, BackMax: 56, Forward: 56, Source: ours + ": the time for which new stock stands apart"},
			Cautions: []string{notifyCaution, labelCaution},
		},
	}
}

// Heeded gives what is said before all else of a pest in a country, as people write that: the duty to report it where it
// is known to be reportable in place of the question whether it is, then the other cautions.
func (p Pest) Heeded(country string) []string {
	for _, c := range p.Reportable {
		if named(country, c.names) {
			duty := strings.ToUpper(p.Name[:1]) + p.Name[1:] + " is reportable in " + c.Name + " (" + c.Source + "): call your plant-health authority now. What may be moved is for it to say."
			others := slices.DeleteFunc(slices.Clone(p.Cautions), func(caution string) bool { return caution == notifyCaution })
			return append([]string{duty}, others...)
		}
	}
	return p.Cautions
}

// PestOf gives the pest of a key, and false for none.
func PestOf(key Key) (Pest, bool) {
	all := Pests()
	i := slices.IndexFunc(all, func(p Pest) bool { return p.Key == key })
	if i < 0 {
		return Pest{}, false
	}
	return all[i], true
}

// ReadPest reads a pest by name, Latin name or key, in any case, or by the beginning of one if only one pest begins so.
func ReadPest(text string) (Pest, error) {
	want := fold(text)
	var begun []Pest
	for _, p := range Pests() {
		names := []string{fold(p.Name), fold(p.Latin), fold(string(p.Key))}
		if want != "" && slices.Contains(names, want) {
			return p, nil
		}
		if want != "" && slices.ContainsFunc(names, func(n string) bool { return strings.HasPrefix(n, want) }) {
			begun = append(begun, p)
		}
	}
	if len(begun) == 1 {
		return begun[0], nil
	}
	var names []string
	for _, p := range Pests() {
		names = append(names, p.Name)
	}
	return Pest{}, fault.New(fault.Unclear, "No pest is known here as %q. Name one of %s; with \"other\", say in words what you see.",
		text, strings.Join(names, ", "))
}

// fold makes names compare whatever their case, hyphens and spaces.
func fold(text string) string {
	words := strings.FieldsFunc(cases.Fold().String(text), func(r rune) bool { return r == ' ' || r == '-' || r == '_' })
	return strings.Join(words, " ")
}
