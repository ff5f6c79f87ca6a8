package requests

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/listing"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// stockColumns are those of a list of plants, with what growers call them.
func stockColumns() []listing.Column {
	return []listing.Column{
		{Name: "variety", Others: []string{"cultivar", "variety name", "name", "sort", "chrysanthemum", "chrysanths", "varieties", "plant"}},
		{Name: "count", Others: []string{"how many", "number", "number of plants", "no of plants", "quantity", "qty", "amount", "plants", "stools", "cuttings", "pots", "total", "#"}},
		{Name: "stage", Others: []string{"state", "status", "at", "growth stage", "what"}},
		{Name: "since", Others: []string{"date", "day", "from date", "date since", "since date", "dated", "on", "when"}},
		{Name: "spot", Others: []string{"bench", "place", "location", "where", "box", "bed", "position", "stands", "house", "tunnel"}},
		{Name: "from", Others: []string{"parent", "raised from", "came from", "source", "mother", "from batch"}},
		{Name: "target", Others: []string{"meant for", "aim", "for"}},
		{Name: "note", Others: []string{"notes", "remark", "remarks", "comment", "comments", "remember"}},
		{Name: "mark", Others: []string{"batch", "batch mark", "label"}},
	}
}

// verdict is what becomes of a line of a list.
type verdict string

// The verdicts, as they are shown.
const (
	toEnter    verdict = "can be entered"
	isThere    verdict = "is there already"
	noVariety  verdict = "needs its variety added"
	notGrasped verdict = "not understood"
)

// line is one line of a list, as it was understood.
type line struct {
	row     listing.Row
	verdict verdict
	variety string // as the co-op writes it, else as the list does
	stock   register.Stock
	mark    string
	key     string
	after   int // the line, counted from 1, from whose plants these came
	why     string
	also    []string // what was passed over or taken for granted
}

// grasped is a list as it was understood.
type grasped struct {
	table listing.Table
	lines []line
}

// grasp reads a list of plants of a member. Days that leave the year open are read as on the given day.
func (c counter) grasp(ctx context.Context, in *bot.In, own register.Member, data []byte, today calendar.Day) (grasped, error) {
	table, err := listing.Read(data, stockColumns())
	if err != nil {
		return grasped{}, err
	}
	g := grasped{table: table, lines: make([]line, len(table.Rows))}
	reader, err := c.listReader(ctx, in, own, g, today)
	if err != nil {
		return grasped{}, err
	}
	keys := make([]string, len(g.lines))
	for i, row := range table.Rows {
		g.lines[i] = reader.line(row)
		keys[i] = g.lines[i].key
		reader.above[g.lines[i].mark] = i + 1
	}
	standing, err := c.reg.RowsStanding(ctx, own.ID, keys)
	for i := range g.lines {
		if l := &g.lines[i]; standing[l.key] && l.verdict != notGrasped {
			l.verdict, l.why = isThere, "Entered from a list before."
		}
	}
	return g, err
}

// count gives how many lines have a verdict.
func (g grasped) count(v verdict) (n int) {
	for _, l := range g.lines {
		if l.verdict == v {
			n++
		}
	}
	return n
}

// listReader is what the lines of a list are read against.
type listReader struct {
	table  listing.Table
	days   calendar.Reader
	own    register.Member
	names  []string
	kinds  map[string]register.Variety
	marked map[string]register.Batch
	plans  []register.Plan
	above  map[string]int // by mark: the line that has it
	times  map[string]int // how often a line was said
}

func (c counter) listReader(ctx context.Context, in *bot.In, own register.Member, g grasped, today calendar.Day) (*listReader, error) {
	r := &listReader{table: g.table, days: in.Reader(today), own: own, kinds: map[string]register.Variety{}, above: map[string]int{}, times: map[string]int{}}
	all, err := c.reg.Varieties(ctx, own.Coop)
	if err != nil {
		return nil, err
	}
	for _, v := range all {
		r.kinds[variety.Fold(v.Name)] = v
		r.names = append(r.names, v.Name)
	}
	var marks []string
	for _, row := range g.table.Rows {
		for _, column := range []string{"mark", "from"} {
			if mark := cleanCell(g.table.Cell(row, column)); ourMark.MatchString(mark) {
				marks = append(marks, mark)
			}
		}
	}
	if r.marked, err = c.reg.BatchesMarked(ctx, own.Coop, marks); err != nil || !g.table.Has("target") {
		return r, err
	}
	r.plans, err = c.reg.Plans(ctx, own.ID, 0)
	return r, err
}

var ourMark = regexp.MustCompile(`^\d\d-\d{1,6}$`)

func cleanCell(text string) string { return strings.Join(strings.Fields(bot.Clean(text, false)), " ") }

// line reads one line: the first thing that is not understood is what is told of it.
func (r *listReader) line(row listing.Row) line {
	l := line{row: row, verdict: toEnter, variety: cleanCell(r.table.Cell(row, "variety")), mark: cleanCell(r.table.Cell(row, "mark"))}
	l.key = r.key(row)
	for _, read := range []func(*line) error{r.readWhole, r.readMark, r.readCount, r.readStage, r.readSince, r.readVariety, r.readFrom, r.readTarget, r.readWords} {
		if err := read(&l); err != nil {
			l.verdict, l.why = notGrasped, err.Error()
			return l
		}
		if l.verdict == isThere {
			return l
		}
	}
	return l
}

// key says what a line says, whatever the order of the columns: of several that say the same, each has its own.
func (r *listReader) key(row listing.Row) string {
	hash := sha256.New()
	for _, c := range stockColumns() {
		cell := variety.Fold(cleanCell(r.table.Cell(row, c.Name)))
		if on, err := r.day(cell); c.Name == "since" && err == nil && !on.IsZero() {
			cell = on.String()
		}
		hash.Write([]byte(cell + "\x1f"))
	}
	key := hex.EncodeToString(hash.Sum(nil)[:16])
	r.times[key]++
	return key + "-" + strconv.Itoa(r.times[key])
}

func unclear(format string, args ...any) error { return fault.New(fault.Unclear, format, args...) }

// clipped keeps a cell that could be of any length from filling the line that quotes it.
func clipped(text string) string {
	if runes := []rune(text); len(runes) > 40 {
		return string(runes[:40]) + "…"
	}
	return text
}

const beyondHead = "It has more cells than the first line names: is a cell with a separator in it not in quotes?"

func (r *listReader) readWhole(l *line) error {
	if r.table.Beyond(l.row) {
		return unclear(beyondHead)
	}
	return nil
}

// readMark finds plants that are in the register under the mark that the list has for them.
func (r *listReader) readMark(l *line) error {
	b, ok := r.marked[l.mark]
	switch {
	case !ok && l.mark != "":
		l.also = append(l.also, "gets a mark of its own in place of "+clipped(l.mark))
	case !ok:
	case b.Member != r.own.ID:
		return unclear("Batch %s is another member's. Take the mark out if these are other plants.", b.Mark)
	case variety.Fold(b.Name) != variety.Fold(l.variety):
		return unclear("Batch %s is %s, not %s. Take the mark out if these are other plants.", b.Mark, b.Name, clipped(l.variety))
	default:
		l.verdict, l.why = isThere, "Batch "+b.Mark+" is in the register."
		if !b.Live() {
			l.why = "Batch " + b.Mark + " was in the register, and none of it is left."
			return nil
		}
		if n, err := strconv.Atoi(cleanCell(r.table.Cell(l.row, "count"))); err == nil && n != b.Count {
			l.why = fmt.Sprintf("Batch %s is in the register, with %d and not %d. If it was counted anew: %s", b.Mark, b.Count, n,
				bot.Typed("/stock count", "batch", b.Mark, "number", strconv.Itoa(n)))
		}
	}
	return nil
}

var wholeCell = regexp.MustCompile(`^(\d{1,6})([.,]0+)?$`)

func (r *listReader) readCount(l *line) error {
	cell := cleanCell(r.table.Cell(l.row, "count"))
	m := wholeCell.FindStringSubmatch(cell)
	switch {
	case cell == "":
		return unclear("How many there are is missing.")
	case m == nil && listing.IsFormula(cell):
		return unclear("%q is a formula, and formulas are not reckoned here. Save the list with its results.", clipped(cell))
	case m == nil:
		return unclear("%q is no whole number.", clipped(cell))
	}
	n, err := strconv.Atoi(m[1])
	if err != nil || n < 1 || n > 100_000 {
		return unclear("%s plants cannot be entered; 1 to 100000 can.", m[1])
	}
	l.stock.Count = n
	return nil
}

// stageWords are the stages as growers call them.
var stageWords = [...]struct {
	stage crop.Stage
	words string
}{
	{crop.Boxed, "boxed box boxes stool stools dormant resting stored overwintering"},
	{crop.Woken, "woken awake waking shooting sprouting"},
	{crop.Taken, "taken cut cuttings unrooted"},
	{crop.Struck, "struck rooting rooted tray trays"},
	{crop.Potted, "potted pot pots"},
	{crop.Planted, "planted bed beds outdoors outside ground"},
	{crop.Housed, "housed house inside indoors glasshouse tunnel"},
}

func (r *listReader) readStage(l *line) error {
	cell := cleanCell(r.table.Cell(l.row, "stage"))
	if cell == "" {
		l.stock.Stage = crop.Boxed
		l.also = append(l.also, "taken for resting stools")
		return nil
	}
	for _, known := range stageWords {
		for word := range strings.FieldsSeq(known.words) {
			if variety.Fold(cell) == word {
				l.stock.Stage = known.stage
				return nil
			}
		}
	}
	names := make([]string, len(stages))
	for i, s := range stages {
		names[i] = string(s)
	}
	return unclear("%q is no stage; they are %s.", clipped(cell), listed(names))
}

// day reads a day as a spreadsheet writes it, with an hour of midnight after it too.
func (r *listReader) day(cell string) (calendar.Day, error) {
	if before, hour, ok := strings.Cut(cell, " "); ok && strings.Trim(hour, "0:") == "" {
		cell = before
	}
	if cell == "" {
		return 0, nil
	}
	return r.days.Read(cell, calendar.Done)
}

func (r *listReader) readSince(l *line) (err error) {
	if l.stock.Since, err = r.day(cleanCell(r.table.Cell(l.row, "since"))); err == nil && l.stock.Since > r.days.Today {
		err = unclear("%s is still to come; since is the day from which they are at the stage.", l.stock.Since.Long())
	}
	return err
}

func (r *listReader) readVariety(l *line) error {
	if l.variety == "" {
		return unclear("The variety is missing.")
	}
	if v, ok := r.kinds[variety.Fold(l.variety)]; ok {
		l.variety, l.stock.Variety = v.Name, v.ID
		return nil
	}
	name, err := variety.CleanName(l.variety)
	switch near := variety.Near(l.variety, r.names, 3); {
	case err != nil:
		return err
	case listing.IsFormula(name):
		return unclear("%q is a formula, not the name of a variety.", clipped(name))
	case len(near) > 0:
		return unclear("The co-op keeps no %s. Is %s meant? If it is another variety, add it with %s first.", clipped(name), strings.Join(near, " or "), bot.Typed("/variety add", "name", name))
	}
	l.variety, l.verdict, l.why = name, noVariety, "The co-op keeps no "+name+" yet."
	return nil
}

func (r *listReader) readFrom(l *line) error {
	cell := cleanCell(r.table.Cell(l.row, "from"))
	if cell == "" {
		return nil
	}
	if b, ok := r.marked[cell]; ok && b.Variety == l.stock.Variety {
		l.stock.Parent = b.ID
		return nil
	}
	if i, ok := r.above[cell]; ok {
		l.after = i
		return nil
	}
	l.also = append(l.also, "where they came from, "+clipped(cell)+", is no batch of this variety in the register and is passed over")
	return nil
}

func (r *listReader) readTarget(l *line) error {
	cell := cleanCell(r.table.Cell(l.row, "target"))
	if cell == "" {
		return nil
	}
	var fit []register.Plan
	for _, p := range r.plans {
		if key := variety.Fold(cell); !p.Keeps() && p.Variety == l.stock.Variety && (key == variety.Fold(targetName(p)) || key == variety.Fold(p.Name)) {
			fit = append(fit, p)
		}
	}
	if len(fit) == 1 {
		l.stock.Plan = fit[0].ID
		return nil
	}
	l.also = append(l.also, "the target "+clipped(cell)+" does not run and is passed over")
	return nil
}

// What a spot and a note may have; see the fields of /stock add.
const (
	longestSpot = 60
	longestNote = 300
)

func (r *listReader) readWords(l *line) error {
	l.stock.Spot = cleanCell(r.table.Cell(l.row, "spot"))
	l.stock.Note = cleanCell(r.table.Cell(l.row, "note"))
	switch {
	case len([]rune(l.stock.Spot)) > longestSpot:
		return unclear("The spot has more than %d characters.", longestSpot)
	case len([]rune(l.stock.Note)) > longestNote:
		return unclear("The note has more than %d characters.", longestNote)
	case listing.IsFormula(l.stock.Note) || listing.IsFormula(l.stock.Spot):
		l.also = append(l.also, "what a spreadsheet would reckon is kept as plain words")
	}
	return nil
}
