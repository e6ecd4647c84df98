// Package phenology forecasts when a tree's phases fall: buds swell, break, open
// into leaves, leaves harden, colour and fall. A forecast is a distribution: the
// weather known so far and every way an [climate.Outlook] lets it go on, through
// bud-burst models averaged by weight, moved by what people saw at the place.
//
// The package knows kinds of trees, by the way they grow, and sightings; nothing
// of trees kept by anyone, of work, or of rules.
//
// # Bud break
//
// Some six hundred curves turn weather into forcing. On a day of minimum n and
// maximum x, C, the forcing temperature is T = (1-w) n + w x, and development is
//
//	sigmoid  1 / (1 + exp(-q (T - m)))       linear  max(0, T - m) / 10
//
// times (D/12)^p for a day of D hours, or nothing before a start day, and for
// some curves times a competence that rises with the chill portions of the winter.
// Its sum from midwinter is C(d). With R(d) the mean of C over typical seasons of
// the place, R being that of the first season after the issue day in all members,
// the clock of a curve shows
//
//	x(d) = R^-1( C(d) )
//
// which is the day of the season in a typical one, and runs ahead in a forward
// one. Clocks are in days, whatever the curve, so the place's clock is their mean
// by weight.
//
// A place starts from a wide prior over the curves, judged and not fitted. What
// was seen there in springs gone by weighs them: each spring is told from the others,
// and what a curve's misses cost counts against it. Whether warmth tells the
// springs at all is settled against the calendar, to which the clock falls back
// as far as it does not. Sixty-four curves, drawn by weight in equal steps, stand for all.
//
// Bud break of tree j of species s in spring y is at
//
//	normal(s) + place + species(s) + tree(j) + spring(y) + spring(s,y) + error(j,y)
//
// on the clock, all parts normal but the error, which is Student's t of four
// degrees of freedom: a single odd date does not bend the rest. Sightings of springs
// gone by condition the parts jointly, the t by weights that follow from the residuals.
// The spreads are the most likely ones where four springs were seen, and
// those of the reference place before. This spring's news of the other trees of
// the species, opened between two looks or closed yet, is taken on a grid of
// what the species shares; then the tree's distribution on the clock is cut off at what had
// not come by the last look. A draw takes a member, a quantile of that
// distribution, and the day on which the member's clock gets there. So errors live on
// the clock, and a cold spell widens the dates by itself.
//
// What other growers saw at their places ([Pooled]) comes in as how many clock days later
// than expected it was there, by the warmth that there was there. A grower stands for
// one tree of each species, the median of theirs, at the place most like this one, and has
// one part more in the sum, of how much later that place is; it is normal about
// zero with long tails, and wider the less the places have in common (by
// kilometres and metres of elevation, as are a spring's effects). All of it together moves the
// mean by half a standard deviation a grower at most (pool.go; docs/method.md).
//
// What a species needs is carried between places as forcing. A species has one
// number, the day b on which it breaks bud in a typical season of the reference
// place; with R' the curve's typical course there, its normal clock here is the
// mean over the curves of R^-1( R'(b) ), and their disagreement adds to the
// uncertainty of the place. For a species that was not fitted, b comes from a mixed
// model of shrubs, evergreens, conifers and ring-porous wood, families and
// genera over those that were, with a standard deviation of seven days at least,
// and from its place in the order of flushing; both together leave five. The fitted
// species are of eastern North America, where trees leaf out later than their
// relatives elsewhere (Zohner and Renner 2017); others, but for those native
// to North America, are put 4.5 days earlier. Mean dates of other places, published,
// judge what is carried over (docs/method.md); "leaf unfolding" of phenological
// networks is to be compared with bud break and two days.
//
// Seasons of a long record are shifted to the climate of late before they serve as
// members: see [climate.Record.Shifts].
//
// Deciduous trees want some chill too; in a draw whose winter had not enough the
// buds do not break. Junipers and cypresses resume growth with the warmth of
// three weeks, frost-tender trees with that of a week's nights.
//
// # Other phases
//
// Bud swell, leaf-out, hardening and the phases of needles lie so many days from
// bud break in a typical season of the reference place (priors/phases.csv), and are
// carried over as forcing like bud break itself. Flowering is counted from leaf-out.
// In autumn leaves age on short and cool days (Delpierre et al. 2009):
//
//	sum over days with D < 14.5 h and T < 28.5 C of (28.5 - T)^2 (D/14.5)^2
//
// and colour, fall and dormancy come at levels of it (priors/autumn.csv). Only bud
// break is fitted; the rest is common practice, wide, and marked so.
//
// # What rests on what
//
// All numbers are in the tables under priors. Typical courses, the days of species,
// the spreads and the likeness of species are fitted to Harvard Forest (HF003 and
// HF000 of its Data Archive, read in place) by
//
//	go test ./climate/phenology -run TestFit -update
//
// which also writes the curves and their prior weights; the other tables say that
// they are common practice, or from memory. How good forecasts are, every spring of
// 1990-2002 left out in turn of everything, is told in docs/figures.md, which
//
//	go test ./climate/phenology -run TestFigures -update
//
// writes; docs/method.md tells what is estimated from what, what is not strictly
// left out, what was tried, and where the aims are missed. [Backtest] does the same
// for any place's own record.
//
// Papers, from memory unless a comment says otherwise: Haenninen 1990, Kramer 1994,
// Chuine 2000 (sigmoid forcing); Bluemel and Chmielewski 2012 (day length);
// Piao et al. 2015, Nature Communications 6:6911 (daily maxima); Landsberg 1974
// (competence); Day 1985 (ensembles of other years' weather); Lange, Little and
// Taylor 1989, JASA 84:881 (weights for Student's t); Kitagawa 1996 (drawing in equal steps);
// Panchen et al. 2014, New Phytologist 203:1208, abstract looked up (traits and order of
// leaf-out); Zohner and Renner 2017, Nature Ecology & Evolution 1:1655, abstract looked up
// (provenance); Gneiting and Raftery 2007, JASA 102:359 (CRPS).
package phenology
