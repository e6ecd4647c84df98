package climate

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// invented returns a record of years generated about n.
func invented(t testing.TB, site Site, n Normals, first, last Date) *Record {
	t.Helper()
	c, err := n.Cycle(site)
	if err != nil {
		t.Fatal(err)
	}
	r := recordOf(first, c.generate(11, first, int(last-first)+1, 1)[0])
	r.Source = "invented"
	return r
}

func mustOutlook(t testing.TB, w *Weather, site Site, issue Date) *Outlook {
	t.Helper()
	o, err := w.Outlook(site, issue)
	if err != nil {
		t.Fatal(err)
	}
	for i, m := range o.Members {
		if len(m.Tmin) != len(o.Members[0].Tmin) || len(m.Tmax) != len(m.Tmin) {
			t.Fatalf("member %d has %d and %d days", i, len(m.Tmin), len(m.Tmax))
		}
		for k := range m.Tmin {
			if !(m.Tmin[k] <= m.Tmax[k]) || m.Tmin[k] < -90 || m.Tmax[k] > 60 {
				t.Fatalf("member %d, %v: %v to %v", i, o.First+Date(k), m.Tmin[k], m.Tmax[k])
			}
		}
	}
	return o
}

// agree reports whether all members have the same weather on d.
func (o *Outlook) agree(d Date) bool {
	k := d - o.First
	for _, m := range o.Members {
		if m.Tmin[k] != o.Members[0].Tmin[k] || m.Tmax[k] != o.Members[0].Tmax[k] {
			return false
		}
	}
	return true
}

func TestOutlookFromTypedNormals(t *testing.T) {
	issue := NewDate(2026, 3, 1)
	o := mustOutlook(t, &Weather{Normals: &maritime, Seed: 1}, north(55), issue)
	if o.First != NewDate(2024, 9, 1) || o.Last() != issue+daysAfter {
		t.Errorf("from %v to %v", o.First, o.Last())
	}
	if want := (Basis{Source: typedNormals, Generated: typedMembers, Typical: 365}); o.Basis != want || o.Record != nil {
		t.Errorf("basis %+v, want %+v", o.Basis, want)
	}
	if o.agree(issue-10) || o.agree(issue+10) {
		t.Error("members agree where nothing is known")
	}
	again := mustOutlook(t, &Weather{Normals: &maritime, Seed: 1}, north(55), issue)
	other := mustOutlook(t, &Weather{Normals: &maritime, Seed: 2}, north(55), issue)
	if !reflect.DeepEqual(o, again) || reflect.DeepEqual(o.Members, other.Members) {
		t.Error("the seed does not determine the members")
	}
}

func TestOutlookFromRecord(t *testing.T) {
	for _, tt := range []struct {
		name         string
		site         Site
		first, last  Date // of the record
		issue, start Date
		years        []int
	}{
		{"north", north(45), NewDate(2000, 3, 5), NewDate(2016, 2, 20), NewDate(2016, 2, 20), NewDate(2014, 9, 1), span(2001, 2015)},
		{"south", north(-35), NewDate(2000, 3, 5), NewDate(2016, 9, 20), NewDate(2016, 9, 20), NewDate(2015, 3, 1), span(2000, 2015)},
		{"hindcast", north(45), NewDate(2000, 1, 1), NewDate(2016, 2, 20), NewDate(2008, 4, 1), NewDate(2006, 9, 1), append(span(2000, 2007), span(2009, 2015)...)},
		{"leap day", north(45), NewDate(2000, 1, 1), NewDate(2016, 2, 29), NewDate(2016, 2, 29), NewDate(2014, 9, 1), span(2000, 2015)},
		{"years ago", north(45), NewDate(2000, 1, 1), NewDate(2015, 12, 31), NewDate(2026, 2, 29), NewDate(2024, 9, 1), span(2000, 2015)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := invented(t, tt.site, continental, tt.first, tt.last)
			o := mustOutlook(t, &Weather{Record: r}, tt.site, tt.issue)
			if d := tt.site.SeasonStart(tt.site.Season(tt.issue)-1) - o.First; d != daysBefore {
				t.Errorf("begins %d days before the season before", d)
			}
			var years []int
			for _, m := range o.Members {
				years = append(years, m.Year)
			}
			if !reflect.DeepEqual(years, tt.years) || o.Basis.Years != len(years) || o.Basis.Generated != 0 {
				t.Fatalf("members of %v, want %v; basis %+v", years, tt.years, o.Basis)
			}
			known := min(tt.issue, tt.last)
			for d := o.First; d <= known; d++ {
				if got, want := o.Members[3].Tmin[d-o.First], r.At(d).Tmin; !o.agree(d) || got != want {
					t.Fatalf("%v: members have %v, the record %v", d, got, want)
				}
			}
			if o.agree(max(known, o.First) + 1) {
				t.Error("members agree on the day after the last known one")
			}
			// Well after the join a member is its season, day by day of the
			// calendar, and then the season that follows.
			now := tt.site.Season(tt.issue)
			for i, m := range o.Members {
				for d := max(known, o.First) + 20; d <= o.Last(); d++ {
					s := tt.site.Season(d)
					src := years[mod(i+s-now, len(years))]
					if src == now {
						t.Fatalf("%v: season %d follows itself", d, now)
					}
					if got, want := m.Tmax[d-o.First], r.At(align(d, src-s)).Tmax; got != want {
						t.Fatalf("member of %d, %v: %v, want %v of season %d", m.Year, d, got, want, src)
					}
				}
			}
		})
	}
}

func span(first, last int) (out []int) {
	for y := first; y <= last; y++ {
		out = append(out, y)
	}
	return out
}

func TestOutlookFromShortRecord(t *testing.T) {
	site := north(45)
	issue := NewDate(2016, 5, 1)
	r := invented(t, site, continental, NewDate(2014, 1, 1), issue)
	o := mustOutlook(t, &Weather{Record: r}, site, issue)
	if len(o.Members) != leastMembers || o.Basis.Years != 2 || o.Basis.Generated != 28 || o.Members[29].Year != 0 {
		t.Errorf("%d members, %+v", len(o.Members), o.Basis)
	}
	if !o.agree(issue) || o.agree(issue+1) {
		t.Error("members do not part on the day after issue")
	}

	young := &Weather{Record: r.Without(r.First, NewDate(2015, 11, 30))}
	if _, err := young.Outlook(site, issue); err == nil || !strings.Contains(err.Error(), "or normals or frost dates beside it") {
		t.Errorf("half a year alone: %v", err)
	}
	young.Normals = &continental
	o = mustOutlook(t, young, site, issue)
	if o.Basis.Years != 0 || o.Basis.Generated != leastMembers || o.Basis.Measured != 153 || o.Basis.Typical != 212 {
		t.Errorf("half a year with normals: %+v", o.Basis)
	}
	if len((&Weather{}).mustFail(t, site, issue)) == 0 {
		t.Error("nothing known gave an outlook")
	}
	empty := mustOutlook(t, &Weather{Record: &Record{First: NoDate}, Normals: &continental}, site, issue)
	if empty.Basis.Source != typedNormals || empty.Basis.Generated != typedMembers {
		t.Errorf("empty record with normals: %+v", empty.Basis)
	}
}

func (w *Weather) mustFail(t *testing.T, site Site, issue Date) string {
	t.Helper()
	_, err := w.Outlook(site, issue)
	if err == nil {
		return ""
	}
	return err.Error()
}

func TestOutlookTakesTheProvidersDays(t *testing.T) {
	site := north(45)
	issue := NewDate(2016, 3, 1)
	r := invented(t, site, continental, NewDate(2000, 1, 1), issue-3) // the station is three days late
	forecast := func(first Date, days int) *Record {
		f := &Record{First: first}
		for i := range days {
			f.Days = append(f.Days, Day{Tmin: float64(i), Tmax: float64(i) + 5, TminOrigin: Predicted, TmaxOrigin: Predicted})
		}
		return f
	}
	for _, tt := range []struct {
		name          string
		f             *Record
		known, basis  int  // last day on which members agree, counted from issue; predicted days up to issue
		interpolating bool // from the record to the forecast
	}{
		{"at once", forecast(issue-2, 9), 6, 3, false},
		{"overlapping", forecast(issue-30, 40), 9, 3, false},
		{"a gap of two days", forecast(issue, 7), 6, 1, true},
		{"a fortnight later", forecast(issue+14, 7), -3, 0, false},
		{"stale", forecast(issue-40, 7), -3, 0, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			o := mustOutlook(t, &Weather{Record: r, Forecast: tt.f}, site, issue)
			last := issue + Date(tt.known)
			if !o.agree(last) || o.agree(last+1) {
				t.Errorf("members do not part on %v", last+1)
			}
			for i, d := range tt.f.Days {
				if at := tt.f.First + Date(i); at > r.Last() && o.Members[1].Tmin[at-o.First] != d.Tmin {
					t.Fatalf("%v: %v, predicted %v", at, o.Members[1].Tmin[at-o.First], d.Tmin)
				}
			}
			if o.Basis.Predicted != tt.basis || tt.interpolating != (o.Basis.Interpolated > 0) {
				t.Errorf("basis %+v", o.Basis)
			}
			if o.Record.Last() > issue {
				t.Errorf("known to %v, issued on %v", o.Record.Last(), issue)
			}
		})
	}
}

// TestNoLookAhead changes what was read after issue: nothing that is said of
// the days up to issue may change with it.
func TestNoLookAhead(t *testing.T) {
	site := north(45)
	first := NewDate(2000, 1, 1)
	full := invented(t, site, continental, first, NewDate(2012, 12, 31))
	rapid.Check(t, func(t *rapid.T) {
		r := full.Without(1, 0)
		for range rapid.IntRange(0, 20).Draw(t, "gaps") {
			at := rapid.IntRange(0, len(r.Days)-60).Draw(t, "gap")
			r = r.Without(first+Date(at), first+Date(at+rapid.IntRange(0, 50).Draw(t, "length")))
		}
		issue := first + Date(rapid.IntRange(500, len(r.Days)-1).Draw(t, "issue"))
		changed := r.Without(1, 0)
		for i := int(issue-first) + 1; i < len(changed.Days); i++ {
			shift := rapid.SampledFrom([]float64{-7, 5, nan}).Draw(t, "shift")
			changed.Days[i] = day(full.Days[i].Tmin+shift, full.Days[i].Tmax+shift)
			if i > int(issue-first)+40 {
				break
			}
		}
		a, err := (&Weather{Record: r}).Outlook(site, issue)
		if err != nil {
			t.Skip("too short")
		}
		b, err := (&Weather{Record: changed}).Outlook(site, issue)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(a.Record, b.Record) {
			t.Fatal("the filled record up to issue changed")
		}
		if a.Basis.Measured != b.Basis.Measured || a.Basis.Interpolated != b.Basis.Interpolated || a.Basis.Typical != b.Basis.Typical {
			t.Fatal("the basis changed")
		}
		for d := a.First; d <= a.Record.Last(); d++ {
			k := d - a.First
			if d >= first && (!a.agree(d) || a.Members[0].Tmin[k] != b.Members[0].Tmin[k] || a.Members[0].Tmax[k] != b.Members[0].Tmax[k]) {
				t.Fatalf("%v: members changed, or disagree on a known day", d)
			}
		}
	})
}

func BenchmarkOutlook(b *testing.B) {
	site, r := harvard(b)
	w := &Weather{Record: r}
	for b.Loop() {
		if _, err := w.Outlook(site, NewDate(2002, 3, 15)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOutlookFromFrostDates(b *testing.B) {
	w := &Weather{Frost: &FrostNormal{Last: MonthDay{4, 25}, First: MonthDay{10, 15}, Mean: 9.5, Range: 19}}
	for b.Loop() {
		if _, err := w.Outlook(north(50), NewDate(2026, 3, 15)); err != nil {
			b.Fatal(err)
		}
	}
}

func TestFrostOn(t *testing.T) {
	o := &Outlook{First: 100, Members: []Member{{Tmin: []float64{0, -2}}, {Tmin: []float64{3, -1}}, {Tmin: []float64{0.1, 5}}, {Tmin: []float64{4, 4}}}}
	for i := range o.Members {
		o.Members[i].Tmax = o.Members[i].Tmin
	}
	for _, c := range []struct {
		on    Date
		level float64
		want  float64
	}{{100, 0, 0.25}, {101, 0, 0.5}, {101, -2, 0.25}, {99, 0, 0}, {102, 0, 0}} {
		if got := o.FrostOn(c.on, c.level); got != c.want {
			t.Errorf("day %d at %v C: %v, want %v", c.on, c.level, got, c.want)
		}
	}
	if got := (&Outlook{}).FrostOn(100, 0); got != 0 {
		t.Errorf("without members: %v", got)
	}
}
