package calendar_test

import "budswell/calendar"

// The stories are common practice, no published source; where a date is asked
// for, the span is as wide as growers of such a place would give it.
var stories = []story{
	{
		"a maple dug in March", "temperate", "2026-04-05", "Acer campestre", calendar.Collected, "2026-03-20 did collected",
		[]expectation{
			state(calendar.StageCollected, calendar.Recovering),
			next("Now: ", "out of the shade"),
			comes("shade-end", "2026-03-27", "2026-04-17"),
			comes("aftercare", "2026-04-01", "2026-04-05"),
			closes("frost-watch", "2026-05-01", "2026-05-01"),
			done("collect", "2026-03-20"),
			comes("feed", "2026-05-01", "2026-08-25"),
			never("feed", "2026-01-01", "2026-05-01"),
			comes("winter-shelter", "2026-10-01", "2026-12-10"),
			absent("wire"), absent("heavy-prune"), absent("defoliate"), absent("prune"),
			never("first-style", "", "9"),
			hardIn(0, "2026-04-05", "2026-12-31"),
			comes("repot", "2027-03-15", "2027-05-10"),
			hardIn(1, "2027-01-01", "2027-12-31"),
		},
	},
	{
		"a Scots pine dug in April", "temperate", "2026-04-20", "Pinus sylvestris", calendar.Collected, "2026-04-08 did collected",
		[]expectation{
			state(calendar.StageCollected, calendar.Recovering),
			comes("shade", "2026-04-08", "2026-05-06"),
			closes("frost-watch", "2026-05-20", "2026-05-20"),
			absent("wire"), absent("first-style"), absent("heavy-prune"), absent("candle-shorten"),
			never("repot", "", "9"),
			hardIn(0, "2026-04-20", "2027-10-20"),
			comes("feed", "2026-05-20", "2026-08-25"),
		},
	},
	{
		"a maple two seasons after it was dug", "temperate", "2026-03-01", "Acer campestre", calendar.Collected, "2024-03-20 did collected",
		[]expectation{
			state(calendar.StageBaseWork, calendar.Strong),
			comes("repot", "2026-03-15", "2026-05-10"),
			comes("root-flare", "2026-03-15", "2026-05-10"),
			blocked("first-style", "2026-05-20", "2026-07-31", "no styling before the first repot"),
			never("wire", "", "9"),
			hardIn(1, "2026-01-01", "2026-12-31"),
		},
	},
	{
		"the same maple, just repotted", "temperate", "2026-04-12", "Acer campestre", calendar.Collected,
		"2024-03-20 did collected; 2026-04-02 did repot",
		[]expectation{
			state(calendar.StageFirstStyling, calendar.Strong),
			done("repot", "2026-04-02"),
			closes("frost-watch", "2026-05-14", "2026-05-14"),
			comes("shade-end", "2026-04-14", "2026-04-30"),
			never("feed", "2026-04-12", "2026-05-13"), comes("feed", "2026-05-14", "2026-05-14"),
			blocked("feed", "2026-05-14", "2026-05-14", "6 weeks after repot (done on 2026-04-02)"),
			blocked("first-style", "2026-05-20", "2026-07-31", "Repot, done on 2026-04-02, does not share a season with this"),
			comes("first-style", "2027-05-20", "2027-07-31"),
			hardIn(0, "2026-04-12", "2026-12-31"),
			hardIn(1, "2027-01-01", "2027-12-31"),
		},
	},
	{
		"styled maple with wire on", "temperate", "2026-05-20", "Acer campestre", calendar.Collected,
		"2020-03-20 did collected; 2023-04-02 did repot; 2025-06-20 did first-style",
		[]expectation{
			state(calendar.StageBuilding, calendar.Strong),
			comes("wire-check", "2026-05-06", "2026-05-20"),
			comes("unwire", "2026-05-20", "2026-11-01"),
			blocked("wire", "2027-01-01", "2027-04-30", "wire on the tree since 2025-06-20"),
		},
	},
	{
		"the wire was looked at last week", "temperate", "2026-05-20", "Acer campestre", calendar.Collected,
		"2020-03-20 did collected; 2023-04-02 did repot; 2025-06-20 did first-style; 2026-05-13 did wire-check",
		[]expectation{comes("wire-check", "2026-05-27", "2026-05-27"), never("wire-check", "2026-01-01", "2026-05-26")},
	},
	{
		"a tree without wire is not asked to look at it", "temperate", "2026-05-20", "Acer campestre", calendar.Nursery,
		"2024-01-01 judged building",
		[]expectation{absent("wire-check"), absent("unwire")},
	},
	{
		"a weak hornbeam", "temperate", "2026-03-01", "Carpinus betulus", calendar.Nursery, "2026-02-20 judged building weak",
		[]expectation{
			state(calendar.StageBuilding, calendar.Weak),
			hardIn(0, "2026-03-01", "2027-09-01"),
			blocked("repot", "2026-03-01", "2026-05-31", "weak"),
			comes("feed", "2026-04-01", "2026-08-25"),
		},
	},
	{
		"a hornbeam being built gets one hard work a season", "temperate", "2026-01-15", "Carpinus betulus", calendar.Nursery,
		"2022-01-01 judged building strong",
		[]expectation{hardIn(1, "2026-01-15", "2026-12-31"), hardIn(1, "2027-01-01", "2027-06-30")},
	},
	{
		"a birch is not cut hard while it would bleed", "temperate", "2026-01-15", "Betula pendula", calendar.Nursery,
		"2025-01-01 judged building strong; 2025-04-10 did repot",
		[]expectation{never("heavy-prune", "2026-01-15", "2026-05-15"), comes("heavy-prune", "2026-05-16", "2026-07-31")},
	},
	{
		"a cherry is cut in summer only", "temperate", "2026-01-15", "Prunus avium", calendar.Nursery,
		"2025-01-01 judged building strong; 2025-04-10 did repot",
		[]expectation{
			never("heavy-prune", "2026-01-15", "2026-05-15"), comes("heavy-prune", "2026-05-16", "2026-08-20"),
			never("heavy-prune", "2026-09-01", "2027-04-30"),
		},
	},
	{
		"a black pine's candles", "temperate", "2026-05-01", "Pinus thunbergii", calendar.Nursery, "2022-01-01 judged refining strong; 2025-04-15 did repot",
		[]expectation{
			comes("candle-cut", "2026-06-15", "2026-08-20"), hardIn(1, "2026-05-01", "2026-12-31"),
			comes("needle-thin", "2026-09-15", "2026-12-31"),
		},
	},
	{
		"a black pine's candles where summers are cool: earlier", "maritime", "2026-05-01", "Pinus thunbergii", calendar.Nursery, "2022-01-01 judged refining strong; 2025-04-15 did repot",
		[]expectation{comes("candle-cut", "2026-05-25", "2026-07-05"), closes("candle-cut", "2026-06-10", "2026-07-15")},
	},
	{
		"a black pine's candles where summers are too short", "boreal", "2026-05-01", "Pinus thunbergii", calendar.Nursery, "2022-01-01 judged refining strong; 2025-04-15 did repot",
		[]expectation{never("candle-cut", "", "9")},
	},
	{
		"no candles are cut in a year of repotting", "temperate", "2026-05-01", "Pinus thunbergii", calendar.Nursery,
		"2022-01-01 judged refining strong; 2026-04-10 did repot",
		[]expectation{blocked("candle-cut", "2026-06-01", "2026-08-31", "Repot, done on 2026-04-10"), hardIn(0, "2026-05-01", "2026-12-31")},
	},
	{
		"a Scots pine's candles are not cut", "temperate", "2026-05-01", "Pinus sylvestris", calendar.Nursery, "2022-01-01 judged refining strong; 2025-04-15 did repot",
		[]expectation{absent("candle-cut"), comes("candle-shorten", "2026-05-01", "2026-07-10")},
	},
	{
		"an azalea is repotted after flowering", "temperate", "2026-01-15", "Rhododendron indicum", calendar.Nursery,
		"2025-01-01 judged building strong; 2025-06-20 did heavy-prune",
		[]expectation{never("repot", "2026-01-15", "2026-04-30"), comes("repot", "2026-05-01", "2026-08-31")},
	},
	{
		"a spruce's field soil goes by halves", "temperate", "2026-03-01", "Picea abies", calendar.Collected,
		"2020-04-20 did collected; 2025-04-28 did repot",
		[]expectation{blocked("repot", "2026-03-15", "2026-06-15", "2 growing seasons after repot")},
	},
	{
		"a tree still in the ground", "temperate", "2026-02-01", "Carpinus betulus", calendar.Collected, "2025-05-01 saw leaf-out",
		[]expectation{state(calendar.StageCollected, calendar.Recovering), comes("collect", "2026-02-15", "2026-05-10"), never("repot", "", "9"), absent("wire")},
	},
	{
		"a maple where winter never comes", "tropical", "2026-03-01", "Acer campestre", calendar.Nursery, "2024-01-01 judged building strong",
		[]expectation{never("repot", "", "9"), absent("winter-shelter"), absent("frost-watch"), next("nothing tells Acer campestre when to rest")},
	},
	{
		"a fig where winter never comes", "tropical", "2026-03-01", "Ficus microcarpa", calendar.Nursery, "2025-06-01 judged building strong",
		[]expectation{absent("winter-shelter"), absent("frost-watch"), comes("feed", "2026-02-01", "2026-03-01"), hardIn(1, "2026-01-01", "2026-12-31")},
	},
	{
		"a fig where winter comes", "temperate", "2026-04-05", "Ficus microcarpa", calendar.Nursery, "2024-01-01 judged building strong",
		[]expectation{comes("winter-shelter", "2026-08-01", "2026-10-20"), comes("out-of-winter", "2027-05-01", "2027-07-31")},
	},
	{
		"a maple dug in the southern spring", "southern", "2026-09-15", "Acer campestre", calendar.Collected, "2026-09-01 did collected",
		[]expectation{
			state(calendar.StageCollected, calendar.Recovering),
			closes("frost-watch", "2026-10-13", "2026-10-13"),
			comes("shade-end", "2026-09-08", "2026-09-29"),
			comes("feed", "2026-10-13", "2027-02-25"),
			hardIn(0, "2026-09-15", "2027-06-30"),
			comes("repot", "2027-08-01", "2027-11-10"),
			absent("wire"), never("first-style", "", "9"),
		},
	},
	{
		"a southern black pine", "southern", "2026-10-01", "Pinus thunbergii", calendar.Nursery, "2022-01-01 judged refining strong; 2025-10-01 did repot",
		[]expectation{comes("candle-cut", "2026-12-10", "2027-02-20"), never("candle-cut", "2027-03-01", "2027-10-31")},
	},
	{
		"a pine where winter is hard", "continental", "2026-08-01", "Pinus sylvestris", calendar.Nursery, "2022-01-01 judged refining strong; 2025-04-15 did repot",
		[]expectation{comes("winter-shelter", "2026-09-15", "2026-12-15"), comes("out-of-winter", "2027-02-15", "2027-05-15")},
	},
	{
		"dug on a leap day", "maritime", "2028-03-10", "Acer campestre", calendar.Collected, "2028-02-29 did collected",
		[]expectation{closes("frost-watch", "2028-04-11", "2028-04-11"), hardIn(0, "2028-03-10", "2028-12-31"), comes("repot", "2029-03-01", "2029-05-31")},
	},
	{
		"an exhibition tree rests after its show", "temperate", "2026-12-01", "Carpinus betulus", calendar.Nursery,
		"2024-01-01 judged exhibition strong; 2026-11-20 did show",
		[]expectation{blocked("repot", "2027-03-01", "2027-05-31", "show (done on 2026-11-20)")},
	},
	{
		"an entry that lies ahead is not yet done", "temperate", "2026-03-01", "Acer campestre", calendar.Collected,
		"2024-03-20 did collected; 2026-04-02 did repot",
		[]expectation{state(calendar.StageBaseWork, calendar.Strong), comes("repot", "2026-03-15", "2026-05-10")},
	},
}
