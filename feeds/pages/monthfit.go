package pages

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// The room on the sheet, in lines of print and in letters of a line. It is that of A4 and of US
// letter, landscape, less what either has more of, for a face as wide as DejaVu Sans; with
// a narrower one some room is left. print.css has the sizes that it goes by.
const (
	dayLetters  = 189 // in a line through the seven days
	wide        = 1.8 // how wide a day of the week with much to do is, beside the others
	runLetters  = 165 // in a line over the whole sheet
	mostBelow   = 12  // lines of what finds no room on its day
	lineHeight  = 2.9
	dayHead     = 5.1 // mm, the number of the day with its margins
	sheetHeight = 179 // mm, of days, lists and key
	listHead    = 5.5 // mm, the heading of the lists with their margins
	mostList    = 13  // lines of a list
	leastList   = 3
)

// linesOf counts the lines that a text takes, broken between words.
func linesOf(text string, letters int) int {
	lines, at := 1, 0
	for _, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		if at > 0 && at+1+n > letters {
			lines, at = lines+1, 0
		}
		if at > 0 {
			at++
		}
		for at += n; at > letters; at -= letters {
			lines++
		}
	}
	return lines
}

// Names names the trees.
func (e *MonthEntry) Names() string { return strings.Join(e.Trees, ", ") }

// Names names the trees.
func (i *MonthItem) Names() string { return strings.Join(i.Trees, ", ") }

// Numbers numbers the trees, by the key of the sheet: "1–4, 9".
func (e *MonthEntry) Numbers() string {
	all := slices.Sorted(slices.Values(e.numbers))
	var parts []string
	for i := 0; i < len(all); i++ {
		from := i
		for i+1 < len(all) && all[i+1] == all[i]+1 {
			i++
		}
		switch i - from {
		case 0:
			parts = append(parts, strconv.Itoa(all[from]))
		case 1:
			parts = append(parts, strconv.Itoa(all[from]), strconv.Itoa(all[i]))
		default:
			parts = append(parts, fmt.Sprintf("%d–%d", all[from], all[i]))
		}
	}
	return strings.Join(parts, ", ")
}

// who names a tree, or numbers several.
func (e *MonthEntry) who() string {
	if len(e.Trees) == 1 {
		return e.Names()
	}
	return e.Numbers()
}

func (e *MonthEntry) lines(letters int) int {
	names := e.Names()
	if e.Short {
		names = e.Numbers()
	}
	return linesOf(strings.Join([]string{e.Word, e.Title + ":", names, e.Sure}, " "), letters)
}

// fit decides what stands on its day, what in the lines below the days and what overleaf: the
// lists first get what they need up to a share, then the weeks as many lines as there are, the
// fullest the most, less what the rest needs below.
func (m *Month) fit() {
	under := leastList
	for _, l := range m.lists() {
		under = max(under, l.lines())
	}
	under = min(under, mostList)
	for _, l := range m.lists() {
		l.fit(under)
	}
	m.widen()
	weeks := m.weeks()
	room := int((sheetHeight - listHead - lineHeight*float64(under) - dayHead*float64(len(weeks))) / lineHeight)
	key := linesOf(m.in.Say("Trees by number:")+" "+strings.Join(m.Key, ", "), runLetters)
	if m.fitDays(weeks, room); !m.Numbered() && !m.Below() {
		return
	}
	for below := range mostBelow + 1 {
		if m.fitDays(weeks, room-key-below); m.below(below) {
			return
		}
	}
}

func (m *Month) fitDays(weeks [][]*MonthDay, room int) {
	for i, most := range rows(weeks, max(room, len(weeks))) {
		for _, d := range weeks[i] {
			d.fit(most)
		}
	}
}

// below puts what finds no room on its day below the days, as far as so many lines go, and
// reports whether all of it has room there.
func (m *Month) below(most int) bool {
	text, all, day := m.in.Say("Besides."), true, 0
	for i := range m.Days {
		d := &m.Days[i]
		for k := range d.Entries {
			e := &d.Entries[k]
			if !e.Over {
				continue
			}
			more := text
			if day != d.N {
				more += " " + strconv.Itoa(d.N)
			}
			if e.Kind != "do" {
				more += " " + e.Word
			}
			more += " " + e.Title + " " + e.who() + " " + e.Sure + ";"
			if linesOf(more, runLetters) > most {
				all = false
				continue
			}
			text, day, e.Below = more, d.N, true
			d.More--
			d.Below++
		}
	}
	return all
}

// Below reports whether something stands below the days.
func (m *Month) Below() bool {
	return slices.ContainsFunc(m.Days, func(d MonthDay) bool { return d.Below > 0 || d.More > 0 })
}

// widen makes days of the week wide that hold half as much again as the others.
func (m *Month) widen() {
	var holds [8]int
	all := 0
	for i := range m.Days {
		d := &m.Days[i]
		n := d.lines(dayLetters / 7)
		holds[d.Column] += n
		all += n
	}
	share := 7.0
	for column, n := range holds {
		if 14*n > 3*all {
			m.Wide = append(m.Wide, column)
			share += wide - 1
		}
	}
	for i := range m.Days {
		d := &m.Days[i]
		d.letters = int(dayLetters / share)
		if slices.Contains(m.Wide, d.Column) {
			d.letters = int(dayLetters * wide / share)
		}
	}
}

// lines counts the lines of all that stands on the day.
func (d *MonthDay) lines(letters int) (n int) {
	for i := range d.Entries {
		n += d.Entries[i].lines(letters)
	}
	return n
}

// Numbered reports whether trees are numbered somewhere, so that the key is wanted.
func (m *Month) Numbered() bool {
	return slices.ContainsFunc(m.Days, func(d MonthDay) bool {
		return slices.ContainsFunc(d.Entries, func(e MonthEntry) bool { return e.Short || e.Below })
	})
}

// lists returns the lists that stand beside one another; what waits shares a column with what is open.
func (m *Month) lists() []column {
	return []column{{56, []*MonthList{&m.Waits, &m.All}}, {84, []*MonthList{&m.Not}}, {56, []*MonthList{&m.Cautions}}}
}

// column is the lists of one column, of so many letters in a line.
type column struct {
	letters int
	lists   []*MonthList
}

// lines counts the lines of the items that stand on the sheet, one running on after another.
func (c column) lines() (n int) {
	for _, l := range c.lists {
		run := ""
		for i := range l.Items {
			v := &l.Items[i]
			if v.Over {
				continue
			}
			if v.Title != "" {
				run += " " + v.Title + ": " + v.Names() + "."
			}
			run += " " + v.Never + " " + v.Text
		}
		if l.More > 0 {
			run += fmt.Sprintf(" + %d overleaf", l.More)
		}
		if run != "" {
			n += linesOf(run, c.letters)
		}
	}
	return n + len(c.lists) - 1 // headings in between
}

// fit leaves out items, the last first, until the column takes no more than so many lines.
func (c column) fit(most int) {
	for _, l := range slices.Backward(c.lists) {
		for i := len(l.Items) - 1; i >= 0 && c.lines() > most; i-- {
			l.Items[i].Over = true
			l.More++
		}
	}
}

// weeks parts the days into rows.
func (m *Month) weeks() [][]*MonthDay {
	var out [][]*MonthDay
	for i := range m.Days {
		if i == 0 || m.Days[i].Column == 1 {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], &m.Days[i])
	}
	return out
}

// rows returns how many lines each week gets: no more than its fullest day wants, and of what is
// left over none wants a line more that another of fewer could not have.
func rows(weeks [][]*MonthDay, room int) []int {
	wants, out := make([]int, len(weeks)), make([]int, len(weeks))
	for i, week := range weeks {
		for _, d := range week {
			wants[i] = max(wants[i], d.lines(d.letters))
		}
	}
	for given := true; given; {
		given = false
		for i := range out {
			if room > 0 && out[i] < wants[i] {
				out[i]++
				room--
				given = true
			}
		}
	}
	return out
}

// fit numbers the trees where that saves lines, the most first, and then leaves out the last
// entries, until the day takes no more than so many lines.
func (d *MonthDay) fit(most int) {
	d.More, d.Below = 0, 0
	for i := range d.Entries {
		d.Entries[i].Short, d.Entries[i].Over, d.Entries[i].Below = false, false, false
	}
	taken := func() (n int) {
		for i := range d.Entries {
			if e := &d.Entries[i]; !e.Over {
				n += e.lines(d.letters)
			}
		}
		if d.More > 0 {
			n++
		}
		return n
	}
	for taken() > most {
		longest, saves := -1, 0
		for i := range d.Entries {
			e := d.Entries[i]
			if e.Short || len(e.Trees) < 2 {
				continue
			}
			was := e.lines(d.letters)
			e.Short = true
			if s := was - e.lines(d.letters); s > saves {
				longest, saves = i, s
			}
		}
		if longest < 0 {
			break
		}
		d.Entries[longest].Short = true
	}
	for i := len(d.Entries) - 1; i >= 0 && taken() > most; i-- {
		d.Entries[i].Over = true
		d.More++
	}
}

// Overleaf reports whether something finds no room on the sheet.
func (m *Month) Overleaf() bool {
	for i := range m.Days {
		if m.Days[i].More > 0 {
			return true
		}
	}
	return m.All.More+m.Waits.More+m.Not.More+m.Cautions.More > 0
}
