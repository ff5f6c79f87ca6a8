package requests

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"unicode"
)

var keyed = regexp.MustCompile(`(?m)^(\s*")([^"\\]+)(": )`)

// stableJSON writes what the register gives of a member, a key a line, its keys in snake_case. A key is its field's
// name there; a test holds those that others read.
func stableJSON[T any](of T) ([]byte, error) {
	data, err := json.MarshalIndent(of, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("writing an export: %w", err)
	}
	return keyed.ReplaceAllFunc(data, func(line []byte) []byte {
		parts := keyed.FindSubmatch(line)
		return bytes.Join([][]byte{parts[1], []byte(snake(string(parts[2]))), parts[3]}, nil)
	}), nil
}

// snake writes a field's name in snake_case: "KeepStools" is keep_stools, "USClass" us_class and "ID" id.
func snake(name string) string {
	var b strings.Builder
	runes := []rune(name)
	for i, r := range runes {
		if unicode.IsUpper(r) && i > 0 {
			before, follows := runes[i-1], i+1 < len(runes) && unicode.IsLower(runes[i+1])
			if unicode.IsLower(before) || unicode.IsDigit(before) || unicode.IsUpper(before) && follows {
				b.WriteByte('_')
			}
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}
