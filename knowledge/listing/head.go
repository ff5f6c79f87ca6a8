package listing

import (
	"regexp"
	"slices"
	"strings"
	"unicode"

	"shortday/knowledge/fault"
)

// Column is one that a list may have, with all else that people call it. Case, blanks, points and what stands in
// brackets do not matter in a name.
type Column struct {
	Name   string
	Others []string
}

// headed finds the head, and which column is which.
func headed(rows []Row, columns []Column) (Table, error) {
	const among = 10
	best, bestAt := -1, map[string]int{}
	for i, row := range rows[:min(among, len(rows))] {
		at := match(row.Cells, columns)
		if _, ok := at[columns[0].Name]; ok && len(at) > len(bestAt) {
			best, bestAt = i, at
		}
	}
	if best < 0 {
		names := make([]string, len(columns))
		for i, c := range columns {
			names[i] = c.Name
		}
		return Table{}, fault.New(fault.Unclear, "No column of this list is called %s. Write a first line that names the columns, in any order: %s; only %s is needed in every list.",
			columns[0].Name, strings.Join(names, ", "), columns[0].Name)
	}
	t := Table{Head: rows[best], Rows: rows[best+1:], at: bestAt}
	for i, cell := range t.Head.Cells {
		used := false
		for _, at := range bestAt {
			used = used || at == i
		}
		if !used && cell != "" {
			t.Unknown = append(t.Unknown, cell)
		}
	}
	return t, nil
}

// match tells which cell of a head names which column: their own names first, then what else they are called.
func match(cells []string, columns []Column) map[string]int {
	at := map[string]int{}
	used := make([]bool, len(cells))
	keys := make([]string, len(cells))
	for i, cell := range cells {
		keys[i] = key(cell)
	}
	put := func(column, name string) {
		if _, ok := at[column]; ok {
			return
		}
		if i := slices.Index(keys, key(name)); i >= 0 && !used[i] {
			at[column], used[i] = i, true
		}
	}
	for _, c := range columns {
		put(c.Name, c.Name)
	}
	for _, c := range columns {
		for _, other := range c.Others {
			put(c.Name, other)
		}
	}
	return at
}

var bracketed = regexp.MustCompile(`\([^)]*\)|\[[^\]]*\]`)

// key gives a head's name as it compares: its letters and digits alone, in small letters.
func key(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '#' {
			return unicode.ToLower(r)
		}
		return -1
	}, bracketed.ReplaceAllString(name, ""))
}
