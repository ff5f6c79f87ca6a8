package guide

import (
	"slices"
	"strings"
	"sync"
	"unicode"

	"shortday/knowledge/variety"
)

// plain are the words of a question that say nothing of its subject.
const plain = ` a about after again all also am an and any are as at be been before being best better but by can cannot cant
 chrysanth chrysanthemum chrysanthemums could did do does doing dont each else ever few first for from get gets give go goes
 going good got had happens has have having he help her here him his how i if im in into is it its itself ive just keep know
 last less let like long make makes may me mean means might mine more most much must my myself need needs never no not now of off
 often ok on one only onto or other our ours out over own please properly really right same say says she should so some
 somebody someone something still such tell than that thats the their them then there these they thing things this those
 through time to too under until up use used using very want wants was way we well were what whats when where whether which
 while who whose why will with without wont work works would yes you your yours mum mums `

// Words gives the words of a question that say what it is about, folded, each once, in order; numbers say nothing of it.
func Words(question string) []string {
	var words []string
	for _, word := range strings.FieldsFunc(strings.ReplaceAll(variety.Fold(question), "'", ""), notInWord) {
		if !strings.Contains(strings.ReplaceAll(plain, "\n", ""), " "+word+" ") && strings.ContainsFunc(word, unicode.IsLetter) && !slices.Contains(words, word) {
			words = append(words, word)
		}
	}
	return words
}

func notInWord(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) }

// Vocabulary gives the words of the whole handbook that have four letters or more, sorted, each once.
var Vocabulary = sync.OnceValue(func() []string {
	var all []string
	for _, t := range Texts(false) {
		for _, text := range append(append([]string{t.Title, t.Short}, t.Also...), t.More...) {
			all = append(all, Words(text)...)
		}
	}
	slices.Sort(all)
	return slices.DeleteFunc(slices.Compact(all), func(w string) bool { return len([]rune(w)) < 4 })
})

// Meant gives the word of a vocabulary that a mistyped one most likely is: within one edit up to six letters and two in
// longer words, beginning alike; "" where none is or two are as near.
func Meant(typed string, vocabulary []string) string {
	n := len([]rune(typed))
	if n < 4 {
		return ""
	}
	allowed := 1
	if n > 6 {
		allowed = 2
	}
	best, least, tied := "", allowed+1, false
	for _, word := range vocabulary {
		if []rune(word)[0] != []rune(typed)[0] {
			continue
		}
		switch d := variety.Edits(typed, word); {
		case d < least:
			best, least, tied = word, d, false
		case d == least && !strings.HasPrefix(word, best):
			tied = true
		}
	}
	if tied {
		return ""
	}
	return best
}
