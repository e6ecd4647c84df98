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
// Some sixty curves turn weather into forcing. On a day of minimum n and maximum
// x the forcing temperature is T = (1-w) n + w x, and development is
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
// What a species needs is carried between places as forcing. A species has one
// number, the day b on which it breaks bud in a typical season of the reference
// place; with R' the curve's typical course there, its normal clock here is the
// mean over the curves of R^-1( R'(b) ), and their disagreement adds to the
// uncertainty of the place. Bud break of tree j of species s in spring y is at
//
//	normal(s) + place + species(s) + tree(j) + spring(y) + spring(s,y) + error(j,y)
//
// on the clock, all parts normal; sightings condition them jointly and exactly. A
// draw takes a member, a quantile of this distribution cut off at what had not
// come by the last look, and the day on which the member's clock gets there. So
// errors live on the clock, and a cold spell widens the dates by itself.
//
// Deciduous trees want some chill too; in a draw whose winter had not enough the
// buds do not break. Junipers and cypresses resume growth with the warmth of a
// week, frost-tender trees with that of a week's nights.
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
// All numbers are in the tables under priors. Curves' weights, courses, the days
// of species and genera and the spreads are fitted to Harvard Forest (HF003 and
// HF000 of its Data Archive, read in place) by
//
//	go test ./climate/phenology -run TestFit -update
//
// and the other tables say that they are common practice. TestHindcast leaves each
// spring of 1990-2002 out of all of that in turn and prints how far off the rest
// puts it. The choice of the forms themselves was made with all springs in sight.
//
// Papers, from memory unless a comment says otherwise: Haenninen 1990, Kramer 1994,
// Chuine 2000 (sigmoid forcing); Bluemel and Chmielewski 2012 (day length);
// Piao et al. 2015, Nature Communications 6:6911 (daily maxima); Landsberg 1974
// (competence); Day 1985 (ensembles of other years' weather).
package phenology
