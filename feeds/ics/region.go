package ics

import (
	"net/url"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// Region makes the events of a region's plan, in which a growth group or a species stands
// for a tree: what its trees want in general, and no one's. Those over all bands come
// with no band and, where there are several, with what each band has; then follow those of each band. Page is the
// address of the region's page.
func Region(in *wording.Tongue, region string, p *calendar.RegionPlan, page string) []Entry {
	out := groups(in, region, p, nil, page)
	if len(p.Bands) > 1 {
		for i := range p.Bands {
			b := &p.Bands[i]
			out = append(out, groups(in, region, p, b, page+"/"+b.Band.ID)...)
		}
	}
	Sort(out)
	return out
}

// groups makes the events of one band, or with none of the whole.
func groups(in *wording.Tongue, region string, p *calendar.RegionPlan, band *calendar.BandPlan, page string) []Entry {
	plan, of := p.Whole, ""
	if band != nil {
		plan, of = band.Plan, band.Band.ID
	}
	var out []Entry
	for i := range plan.Trees {
		t := &plan.Trees[i]
		s := subject{id: "group " + t.Tree.ID, name: in.Subject(t.Tree.ID, t.Tree.Species, t.Species.Common), in: in, group: t.Tree.ID, page: page + "#group-" + url.PathEscape(t.Tree.ID)}
		if t.Tree.Species != "" {
			s.id = "species " + t.Tree.ID
		}
		s.about = in.Say("{1} in good growth, whose structure is being built or refined. What a single tree has been through may stand against it.", s.name)
		if band != nil {
			s.id = "band " + of + " " + s.id
			s.about = band.Band.Name + ". " + s.about
		}
		for k := range t.Works {
			w := &t.Works[k]
			e, ok := entry(region, s, w, choice{}, plan.On, plan.Basis)
			if !ok {
				continue
			}
			e.Band = of
			if band == nil && len(p.Bands) > 1 {
				e.Description = text(e.Description + "\n\n" + byBand(in, p, i, w.Key))
				e.Digest = e.seen()
			}
			out = append(out, e)
		}
	}
	return out
}

// byBand says of each band when a work's window opens and closes there.
func byBand(in *wording.Tongue, p *calendar.RegionPlan, tree int, key string) string {
	b := paragraphs{in: in}
	b.add("", in.Say("The days above are those of all bands together. By band"))
	for i := range p.Bands {
		band := &p.Bands[i]
		w := band.Work(tree, key)
		if w == nil || w.Window.Chance < leastChance {
			b.add(band.Band.Name, in.Say("over, or not to be had there"))
			continue
		}
		b.add(band.Band.Name, in.Say("opens {1}; closes {2}", in.Spread(w.Window.Opens), in.Spread(w.Window.Closes)))
	}
	return b.String()
}
