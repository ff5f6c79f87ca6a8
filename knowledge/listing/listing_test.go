package listing_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"pgregory.net/rapid"

	"shortday/knowledge/fault"
	"shortday/knowledge/listing"
)

func columns() []listing.Column {
	return []listing.Column{
		{Name: "variety", Others: []string{"name", "cultivar"}},
		{Name: "count", Others: []string{"how many", "number", "#"}},
		{Name: "note", Others: []string{"remarks"}},
	}
}

// told gives the known columns of each row with its line.
func told(t *testing.T, data []byte) []string {
	t.Helper()
	table, err := listing.Read(data, columns())
	require.NoError(t, err)
	var lines []string
	for _, row := range table.Rows {
		lines = append(lines, fmt.Sprintf("%d %s|%s|%s", row.Line, table.Cell(row, "variety"), table.Cell(row, "count"), table.Cell(row, "note")))
	}
	return lines
}

func wide(text string, order binary.AppendByteOrder, mark string) []byte {
	data := []byte(mark)
	for _, unit := range utf16.Encode([]rune(text)) {
		data = order.AppendUint16(data, unit)
	}
	return data
}

func TestReadAsSpreadsheetsWrite(t *testing.T) {
	t.Parallel()
	want := []string{"2 Île Rose|12|a, b; c", "3 Saltmarsh|3|"}
	semicolons := "Variety;How many;Remarks\r\nÎle Rose;12;a, b; c\r\nSaltmarsh;3\r\n"
	semicolons = strings.Replace(semicolons, "a, b; c", `"a, b; c"`, 1)
	commas := strings.NewReplacer(";", ",", `"a, b, c"`, `"a, b; c"`).Replace(semicolons)
	ansi, err := charmap.Windows1252.NewEncoder().String(semicolons)
	require.NoError(t, err)
	for name, data := range map[string][]byte{
		"semicolons":   []byte(semicolons),
		"commas":       []byte(strings.Replace(commas, `"a, b, c"`, `"a, b; c"`, 1)),
		"tabs":         []byte(strings.NewReplacer(`"a, b; c"`, "a, b; c", ";", "\t", "a, b\t c", "a, b; c").Replace(semicolons)),
		"marked":       []byte("\ufeff" + semicolons),
		"old Mac":      []byte(strings.ReplaceAll(semicolons, "\r\n", "\r")),
		"Unix":         []byte(strings.ReplaceAll(semicolons, "\r\n", "\n")),
		"Windows-1252": []byte(ansi),
		"UTF-16 LE":    wide(semicolons, binary.LittleEndian, "\xff\xfe"),
		"UTF-16 BE":    wide(semicolons, binary.BigEndian, "\xfe\xff"),
		"no mark LE":   wide(semicolons, binary.LittleEndian, ""),
		"no mark BE":   wide(semicolons, binary.BigEndian, ""),
	} {
		require.Equal(t, want, told(t, data), name)
	}
	require.Equal(t, []string{"3 Île Rose|12|a, b; c", "4 Saltmarsh|3|"}, told(t, []byte("sep=;\r\n"+semicolons)), "the separator announced")
}

func TestReadIsForgiving(t *testing.T) {
	t.Parallel()
	require.Equal(t, []string{"4 Saltmarsh|3|"}, told(t, []byte("My plants 2027\n\n count , NAME (as bought) \n3,Saltmarsh")), "a title above, blanks, brackets")
	require.Equal(t, []string{"2 A|1|two\nlines", "4 B|2|"}, told(t, []byte("variety,#,note\nA,1,\"two\r\nlines\"\nB,2,")), "quoted lines count")
	require.Equal(t, []string{`2 12" box|1|say "so"`}, told(t, []byte("variety,count,note\n12\" box,1,\"say \"\"so\"\"\"")), "inches and quotes")
	require.Equal(t, []string{"2 Saltmarsh||", "4 Ninepence||"}, told(t, []byte("variety\nSaltmarsh\n\nNinepence\n")), "one column")
	require.Equal(t, []string{"2 A|1|=1+1"}, told(t, []byte("variety,count,note\nA,1,'=1+1")), "our own apostrophe")

	table, err := listing.Read([]byte("price;variety;number;count;colour\n1;A;2;3;red;more"), columns())
	require.NoError(t, err)
	require.Equal(t, []string{"price", "number", "colour"}, table.Unknown, "its own name goes before another")
	require.Equal(t, "3", table.Cell(table.Rows[0], "count"))
	require.True(t, table.Beyond(table.Rows[0]))
	require.True(t, table.Has("count"))
	require.False(t, table.Has("note"))
}

func TestReadRefuses(t *testing.T) {
	t.Parallel()
	for want, data := range map[string]string{
		"There is nothing in this list.":           " \r\n",
		"a workbook (such as .xlsx":                "PK\x03\x04\x14\x00",
		"a workbook of an older spreadsheet":       "\xd0\xcf\x11\xe0\xa1",
		"This is no list but a program":            "MZ\x90\x00\x03",
		"no list but a picture":                    "\xff\xd8\xff\xe0",
		"no list that can be read as text":         "variety\x00count\x00\x00\x00",
		"No column of this list is called variety": "a,b\n1,2\n",
		"The quote that begins in line 3 is not":   "variety,count\nA,1\n\"B,2\nC,3\n",
		"In line 2 a cell has more than 4000":      "variety\n" + strings.Repeat("x", listing.LongestCell+1),
		"Line 1 has more than 100 columns":         strings.Repeat(",", 2_000_000),
		"at most 20000 lines are read":             "variety\n" + strings.Repeat("A\n", listing.MostRows+1),
		"at most 8 MB are read":                    strings.Repeat("A", listing.MostBytes+1),
	} {
		_, err := listing.Read([]byte(data), columns())
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.Unclear, fault.KindOf(err), want)
	}
}

func TestWrittenFormulasAreWords(t *testing.T) {
	t.Parallel()
	data := listing.Write([]string{"variety", "note"}, [][]string{{"=HYPERLINK(1)", "+1"}, {"\t@SUM", "'-2"}, {"plain", "'tis"}})
	require.Equal(t, "\ufeffvariety,note\r\n'=HYPERLINK(1),'+1\r\n\"'\t@SUM\",''-2\r\nplain,'tis\r\n", string(data))
}

// What is written reads back the same, whatever stands in the cells.
func TestWriteThenRead(t *testing.T) {
	t.Parallel()
	cell := rapid.OneOf(rapid.String(), rapid.StringOfN(rapid.SampledFrom([]rune(" ,;\t\n\"'=+-@|aé＝")), 0, 8, -1), rapid.Just(""))
	rapid.Check(t, func(t *rapid.T) {
		clean := func(cells []string) []string {
			for i := range cells {
				cells[i] = strings.NewReplacer("\r", "", "\x00", "").Replace(cells[i])
			}
			return cells
		}
		rows := rapid.SliceOfN(rapid.Map(rapid.SliceOfN(cell, 3, 3), clean), 0, 6).Draw(t, "rows")
		table, err := listing.Read(listing.Write([]string{"note", "variety", "count"}, rows), columns())
		require.NoError(t, err)
		rows = slices.DeleteFunc(rows, func(cells []string) bool { return strings.Join(cells, "") == "" })
		require.Len(t, table.Rows, len(rows))
		for i, row := range table.Rows {
			require.Equal(t, rows[i], row.Cells)
		}
	})
}

func FuzzRead(f *testing.F) {
	for _, seed := range []string{"variety;count\nA;1\n", "\xff\xfev\x00", "sep=|\r\nvariety|count\nA|1", "variety,\"a\r\nb\"\n'=1,\"\"\"\"", "PK\x03\x04"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := listing.Read(data, columns())
		if err != nil {
			require.NotEqual(t, fault.Internal, fault.KindOf(err))
			return
		}
		head := []string{"variety", "count", "note"}
		var rows [][]string
		for _, row := range table.Rows {
			require.LessOrEqual(t, row.Line, bytes.Count(data, []byte("\n"))+bytes.Count(data, []byte("\r"))+1)
			cells := []string{table.Cell(row, "variety"), table.Cell(row, "count"), table.Cell(row, "note")}
			if strings.Join(cells, "") != "" {
				rows = append(rows, cells)
			}
		}
		again, err := listing.Read(listing.Write(head, rows), columns())
		require.NoError(t, err)
		require.Len(t, again.Rows, len(rows))
		for i, row := range again.Rows {
			require.Equal(t, rows[i], row.Cells)
		}
	})
}

func BenchmarkRead(b *testing.B) {
	var rows [][]string
	for i := range 10_000 {
		rows = append(rows, []string{fmt.Sprintf("Variety %d", i%50), fmt.Sprint(1 + i%40), "bench, by the door"})
	}
	data := listing.Write([]string{"variety", "count", "note"}, rows)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := listing.Read(data, columns()); err != nil {
			b.Fatal(err)
		}
	}
}
