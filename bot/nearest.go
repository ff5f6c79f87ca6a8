package bot

import "strings"

// nearest gives the name that a mistyped one most likely means, "" where none is close.
func nearest(typed string, names []string) string {
	if len(typed) > 40 {
		return ""
	}
	best, least := "", max(1, len([]rune(typed))/3)+1
	for _, name := range names {
		if strings.HasPrefix(name, typed) && typed != "" {
			return name
		}
		if d := distance(typed, name); d < least {
			best, least = name, d
		}
	}
	return best
}

// distance counts the letters to add, drop, change or swap with their neighbour (optimal string alignment).
func distance(a, b string) int {
	s, t := []rune(a), []rune(b)
	rows := make([][]int, len(s)+1)
	for i := range rows {
		rows[i] = make([]int, len(t)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(s); i++ {
		for j := 1; j <= len(t); j++ {
			change := rows[i-1][j-1]
			if s[i-1] != t[j-1] {
				change++
			}
			rows[i][j] = min(rows[i-1][j]+1, rows[i][j-1]+1, change)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				rows[i][j] = min(rows[i][j], rows[i-2][j-2]+1)
			}
		}
	}
	return rows[len(s)][len(t)]
}
