package listing

import (
	"slices"
	"strings"

	"shortday/knowledge/fault"
)

// splitter takes a text apart into rows, from its first byte to its last.
type splitter struct {
	text  string
	comma byte
	pos   int
	line  int
}

// split gives the rows that have anything in them. Any of CR LF, LF and CR ends a line.
func split(text string, comma byte, line int) ([]Row, error) {
	s := splitter{text: text, comma: comma, line: line}
	var rows []Row
	for s.pos < len(s.text) {
		row, err := s.row()
		if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(row.Cells, func(cell string) bool { return cell != "" }) {
			continue
		}
		if rows = append(rows, row); len(rows) > MostRows {
			return nil, fault.New(fault.Unclear, "This list is too long: at most %d lines are read. Part it into several files.", MostRows)
		}
	}
	return rows, nil
}

func (s *splitter) row() (Row, error) {
	row := Row{Line: s.line}
	for {
		cell, err := s.cell()
		if err != nil {
			return row, err
		}
		if row.Cells = append(row.Cells, plain(cell)); len(row.Cells) > MostColumns {
			return row, fault.New(fault.Unclear, "Line %d has more than %d columns, so this is no list of plants. Keep the columns that are needed and save it again.", row.Line, MostColumns)
		}
		if s.pos >= len(s.text) {
			return row, nil
		}
		end := s.text[s.pos]
		s.pos++
		if end == s.comma {
			continue
		}
		if end == '\r' && s.pos < len(s.text) && s.text[s.pos] == '\n' {
			s.pos++
		}
		s.line++
		return row, nil
	}
}

// cell reads up to the separator or the line's end, which it leaves. A quoted cell keeps its blanks and its lines.
func (s *splitter) cell() (string, error) {
	from := s.pos
	for s.pos < len(s.text) && s.text[s.pos] == ' ' {
		s.pos++
	}
	inQuotes := ""
	quoted := s.pos < len(s.text) && s.text[s.pos] == '"'
	if quoted {
		var err error
		if inQuotes, err = s.quoted(); err != nil {
			return "", err
		}
		from = s.pos
	}
	for s.pos < len(s.text) && s.text[s.pos] != s.comma && s.text[s.pos] != '\n' && s.text[s.pos] != '\r' {
		s.pos++
	}
	rest := strings.TrimSpace(s.text[from:s.pos])
	if len(inQuotes)+len(rest) > LongestCell {
		return "", fault.New(fault.Unclear, "In line %d a cell has more than %d characters. Shorten it and save the list again.", s.line, LongestCell)
	}
	return inQuotes + rest, nil
}

// quoted reads from a quote to the one that closes it; two quotes are one that belongs to the cell.
func (s *splitter) quoted() (string, error) {
	var b strings.Builder
	line := s.line
	for s.pos++; s.pos < len(s.text); s.pos++ {
		switch c := s.text[s.pos]; {
		case c == '"' && s.pos+1 < len(s.text) && s.text[s.pos+1] == '"':
			s.pos++
			b.WriteByte('"')
		case c == '"':
			s.pos++
			return b.String(), nil
		case c == '\r' || c == '\n':
			if c == '\r' && s.pos+1 < len(s.text) && s.text[s.pos+1] == '\n' {
				s.pos++
			}
			s.line++
			b.WriteByte('\n')
		default:
			b.WriteByte(c)
		}
		if b.Len() > LongestCell {
			break
		}
	}
	return "", fault.New(fault.Unclear, "The quote that begins in line %d is not closed. Close it with another one, or take it out, and save the list again.", line)
}
