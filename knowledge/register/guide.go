package register

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"time"

	"shortday/knowledge/guide"
)

// GuideFound is what the handbook has to a question.
type GuideFound struct {
	Topics  []string // keys of texts, the best first; none where the handbook does not know
	Read    []Reading
	Unknown []string // words that the handbook does not have, nor any near them
}

// Reading is a word that was taken for another.
type Reading struct{ Typed, Meant string }

const (
	guideDigest  = `SELECT digest FROM guide_state`
	keepDigest   = `UPDATE guide_state SET digest = $1`
	emptyGuide   = `DELETE FROM guide_text`
	insertGuide  = `INSERT INTO guide_text (topic, title, also, short, more) VALUES ($1, $2, $3, $4, $5)`
	topicsOf     = `SELECT topic FROM guide_text WHERE guide_text MATCH $1`
	topicsRanked = `SELECT topic FROM guide_text WHERE guide_text MATCH $1 ORDER BY bm25(guide_text, 0, 10, 6, 3, 1), topic LIMIT 4`
)

// SearchGuide finds the texts that answer a question, given as its words (see guide.Words). Whoever asks first after the
// texts changed has them indexed anew.
func (r *Register) SearchGuide(ctx context.Context, words []string) (found GuideFound, err error) {
	if err := r.indexGuide(ctx); err != nil {
		return found, err
	}
	return found, r.read(ctx, func(tx *sql.Tx) error {
		s := guideSearch{tx: tx, found: &found}
		for _, word := range words {
			if err := s.add(ctx, word); err != nil {
				return fmt.Errorf("searching the guide: %w", err)
			}
		}
		return s.rank(ctx)
	})
}

func (r *Register) indexGuide(ctx context.Context) error {
	digest, current := guide.Digest(), ""
	err := r.read(ctx, func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, guideDigest).Scan(&current) })
	if err != nil || digest == current {
		return err
	}
	return r.write(ctx, time.Time{}, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, emptyGuide); err != nil {
			return fmt.Errorf("emptying the guide's index: %w", err)
		}
		for _, t := range guide.Texts(false) {
			if err := exec(ctx, tx, insertGuide, t.Key, t.Title, strings.Join(t.Also, ". "), t.Short, strings.Join(t.More, "\n\n")); err != nil {
				return fmt.Errorf("indexing the guide: %w", err)
			}
		}
		return exec(ctx, tx, keepDigest, digest)
	})
}

// guideSearch is one question on its way: the words found so far, and the texts that each is in.
type guideSearch struct {
	tx      *sql.Tx
	found   *GuideFound
	terms   []string
	telling map[string]bool // texts that a word leads to which few others have, or which names them
}

// common is in how many texts a word may be and still tell which is meant.
const common = 8

func (s *guideSearch) add(ctx context.Context, word string) error {
	topics, err := s.topics(ctx, quoted(word))
	if err != nil {
		return err
	}
	if len(topics) == 0 {
		meant := guide.Meant(word, guide.Vocabulary())
		if meant == "" {
			s.found.Unknown = append(s.found.Unknown, word)
			return nil
		}
		s.found.Read = append(s.found.Read, Reading{Typed: word, Meant: meant})
		word = meant
		if topics, err = s.topics(ctx, quoted(word)); err != nil {
			return err
		}
	}
	s.terms = append(s.terms, quoted(word))
	if len(topics) > common {
		if topics, err = s.topics(ctx, `{title also} : `+quoted(word)); err != nil {
			return err
		}
	}
	if s.telling == nil {
		s.telling = map[string]bool{}
	}
	for _, topic := range topics {
		s.telling[topic] = true
	}
	return nil
}

// rank orders the texts, unless what is not known outweighs what is.
func (s *guideSearch) rank(ctx context.Context) error {
	if len(s.terms) == 0 || len(s.found.Unknown) >= len(s.terms) {
		return nil
	}
	ranked, err := list(ctx, s.tx, scanText, topicsRanked, strings.Join(s.terms, " OR "))
	if err != nil {
		return fmt.Errorf("ranking the guide: %w", err)
	}
	s.found.Topics = slices.DeleteFunc(ranked, func(topic string) bool { return !s.telling[topic] })
	return nil
}

func (s *guideSearch) topics(ctx context.Context, match string) ([]string, error) {
	return list(ctx, s.tx, scanText, topicsOf, match)
}

// quoted makes a string of a word, so that nothing in it is read as the index's own syntax.
func quoted(word string) string { return `"` + strings.ReplaceAll(word, `"`, `""`) + `"` }
