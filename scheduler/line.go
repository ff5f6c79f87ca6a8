package scheduler

import (
	"cmp"
	"fmt"
	"strings"

	"shortday/knowledge/register"
)

// part is one paragraph of a group's notice: lines of one kind of thing under a heading.
type part struct {
	heading string // "" where the line says it itself
	lines   []line
	rest    string // how those are named that there is no room for: "3 overdue"
	merged  string // what stands before the counts where its lines are made one
}

// line tells one thing of many members: "Stop: Oona Saltmarsh, Tin Whistle; Piet Copper Latch".
type line struct {
	head   string
	step   string // the step alone where the head says more
	items  []item
	tail   string // a sentence after them, "" for none
	counts bool   // its head tells the number of items
	whole  bool   // each item is a sentence of its own and is told in full or not at all
}

// item is one thing of one member.
type item struct {
	member int64
	owner  string
	what   string          // "" where the line's head says it all
	words  []register.Word // what it says of jobs; none of what is told each time
}

// level is how much of a notice is written out. What it leaves out is counted.
type level struct {
	detail bool // the varieties of each member, not their number alone
	merged bool // the steps of a part are counted, and then its members
	steps  int  // steps that are counted by their names
	names  int  // members in a line
	whole  int  // whole sentences in a line
	lines  int  // lines in the notice
}

const all = 1 << 30

// levels goes from all there is to nothing but counts.
func levels() []level {
	levels := []level{
		{detail: true, steps: 12, names: all, whole: all, lines: all},
		{detail: true, steps: 12, names: all, whole: 3, lines: all},
		{detail: true, steps: 12, names: all, whole: 1, lines: all},
		{steps: 12, names: all, whole: 2, lines: all},
	}
	for _, names := range []int{all, 50, 40, 32, 24, 16, 10, 6, 3, 1} {
		levels = append(levels, level{merged: true, steps: max(2, min(names, 12)), names: names, whole: 1, lines: all})
	}
	for _, lines := range []int{5, 3, 1, 0} {
		levels = append(levels, level{merged: true, steps: 1, names: 1, whole: 1, lines: lines})
	}
	return levels
}

// merge makes one line of a part's, but for those that are whole sentences or warn of what is lost: it counts what each
// tells.
func (p part) merge(most int) part {
	one := line{counts: true}
	var merged, rest []line
	for _, l := range p.lines {
		if l.whole || l.tail != "" {
			rest = append(rest, l)
			continue
		}
		merged = append(merged, l)
		one.items = append(one.items, l.items...)
	}
	if len(merged) < 2 {
		return p
	}
	one.head = p.merged + counted(merged, most)
	p.lines = append([]line{one}, rest...)
	return p
}

// counted tells lines by their numbers alone: "5 × disbud and 3 × label". Lines of the same step count as one.
func counted(lines []line, most int) string {
	var steps []string
	number := map[string]int{}
	for _, l := range lines {
		step := cmp.Or(l.step, lower(l.head))
		if number[step] == 0 {
			steps = append(steps, step)
		}
		number[step] += len(l.items)
	}
	var words []string
	rest := 0
	for i, step := range steps {
		if i < most {
			words = append(words, fmt.Sprintf("%d × %s", number[step], step))
		} else {
			rest += number[step]
		}
	}
	if rest > 0 {
		words = append(words, fmt.Sprintf("%d more", rest))
	}
	return listed(words)
}

// owned is what one member has in a line.
type owned struct {
	owner string
	items []item
}

// owners gathers the items of a line by member, in their order.
func (l line) owners() []owned {
	var owners []owned
	place := map[int64]int{}
	for _, it := range l.items {
		i, ok := place[it.member]
		if !ok {
			i, owners = len(owners), append(owners, owned{owner: it.owner})
			place[it.member] = i
		}
		owners[i].items = append(owners[i].items, it)
	}
	return owners
}

// write gives the line at a level, with the items that it tells.
func (l line) write(v level) (text string, told []item) {
	if l.whole {
		return l.writeWhole(v.whole)
	}
	owners := l.owners()
	named := owners[:min(v.names, len(owners))]
	words := make([]string, len(named))
	for i, o := range named {
		words[i] = o.write(v.detail)
		told = append(told, o.items...)
	}
	parted := ", "
	if v.detail {
		parted = "; "
	}
	text = l.head
	if n := len(l.items); n > 1 && !v.detail && !l.counts {
		text += fmt.Sprintf(" (%d)", n)
	}
	text += ": " + strings.Join(words, parted)
	if rest := len(owners) - len(named); rest > 0 {
		text += fmt.Sprintf(" and %d more", rest)
	}
	if l.tail != "" {
		text += ". " + l.tail
	}
	return text, told
}

func (l line) writeWhole(most int) (text string, told []item) {
	told = l.items[:min(most, len(l.items))]
	words := make([]string, len(told))
	for i, it := range told {
		words[i] = l.head + " " + cut(it.owner, nameRoom) + "'s " + it.what
	}
	if rest := len(l.items) - len(told); rest > 0 {
		words = append(words, fmt.Sprintf("%d more of these come next.", rest))
	}
	return strings.Join(words, "\n"), told
}

// nameRoom is how much of a name a notice has room for.
const nameRoom = 28

func (o owned) write(detail bool) string {
	text := cut(o.owner, nameRoom)
	if !detail {
		if len(o.items) > 1 {
			text += fmt.Sprintf(" %d", len(o.items))
		}
		return text
	}
	var words []string
	for _, it := range o.items {
		if it.what != "" {
			words = append(words, it.what)
		}
	}
	return strings.TrimSpace(text + " " + strings.Join(words, ", "))
}
