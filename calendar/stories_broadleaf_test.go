package calendar_test

import "budswell/calendar"

// Stories of broadleaf trees; see [stories]. What each must say is common
// practice, no published source.
var broadleafStories = []story{
	{
		// Hawthorn opens weeks before beech: the order is steadier than the dates.
		"a hawthorn moves early", "temperate", "2026-02-01", "Crataegus monogyna", calendar.Collected, "2023-03-10 did collected",
		[]expectation{
			state(calendar.StageBaseWork, calendar.Strong),
			comes("repot", "2026-02-20", "2026-04-10"), comes("root-flare", "2026-02-20", "2026-04-10"),
			never("first-style", "2026-02-01", "2027-04-30"), never("feed", "2026-02-01", "2026-03-15"), absent("candle-cut"),
		},
	},
	{
		"a beech moves late, and late frost finds it soft", "temperate", "2026-02-01", "Fagus sylvatica", calendar.Collected, "2023-04-10 did collected",
		[]expectation{
			never("repot", "2026-02-01", "2026-03-25"), comes("repot", "2026-04-01", "2026-05-15"),
			comes("frost-watch", "2026-04-10", "2026-05-25"), comes("heat-shade", "2026-05-20", "2026-08-15"),
			never("heavy-prune", "2026-02-01", "2026-05-20"),
		},
	},
	{
		"an elm still in the field is dug at the end of winter", "temperate", "2026-10-15", "Ulmus minor", calendar.FieldGrown, "",
		[]expectation{
			never("collect", "2026-10-15", "2026-12-31"), comes("collect", "2027-02-01", "2027-04-20"),
			cautions("collect", "landowner's permission", "Plant-health rules", "second person", "heavier than it looks"),
			never("repot", "", "9"), absent("wire"), absent("prune"),
		},
	},
	{
		"the same elm, dug two years ago", "temperate", "2026-02-20", "Ulmus minor", calendar.FieldGrown, "2024-03-15 did collected",
		[]expectation{
			state(calendar.StageBaseWork, calendar.Strong), comes("repot", "2026-03-01", "2026-04-25"),
			titled("repot", "First repot out of field soil"), blocked("first-style", "2026-05-10", "2026-07-31", "no styling before the first repot"),
			cautions("repot", "Cut away from yourself", "dust harms the lungs"),
		},
	},
	{
		"a cutting was never dug", "temperate", "2026-02-20", "Ulmus parvifolia", calendar.Cutting, "",
		[]expectation{absent("collect"), absent("aftercare"), absent("shade"), comes("repot", "2026-02-20", "2026-04-30"), hardIn(1, "2026-02-20", "2026-12-31")},
	},
	{
		"a layer with few roots yet is only fed", "temperate", "2026-04-20", "Acer palmatum", calendar.Layered, "2026-03-20 judged recovering recovering",
		[]expectation{
			absent("collect"), absent("aftercare"), hardIn(0, "2026-04-20", "2026-12-31"),
			comes("feed", "2026-05-01", "2026-08-25"), comes("vigour-check", "2026-05-15", "2026-08-31"), absent("defoliate"), absent("wire"),
		},
	},
	{
		"a seedling oak in building: grown on, not defoliated", "temperate", "2026-02-20", "Quercus robur", calendar.Seedling, "2025-01-01 judged building strong",
		[]expectation{
			never("repot", "2026-02-20", "2026-03-20"), comes("repot", "2026-03-25", "2026-05-10"), absent("defoliate"), absent("pinch"),
			comes("feed", "2026-04-15", "2026-08-25"),
		},
	},
	{
		"a walnut bleeds until its leaves are hard", "temperate", "2026-01-15", "Juglans regia", calendar.Nursery, "2025-01-01 judged building strong; 2025-04-20 did repot",
		[]expectation{
			never("heavy-prune", "2026-01-15", "2026-05-25"), comes("heavy-prune", "2026-05-26", "2026-08-15"),
			never("heavy-prune", "2026-12-01", "2027-05-25"), cautions("heavy-prune", "eye, ear, lung"),
		},
	},
	{
		"a plum that flowers before its leaves", "temperate", "2026-01-15", "Prunus mume", calendar.Nursery, "2025-01-01 judged building strong; 2025-03-25 did repot",
		[]expectation{never("heavy-prune", "2026-01-15", "2026-04-30"), comes("heavy-prune", "2026-05-01", "2026-08-20"), never("heavy-prune", "2026-09-01", "2027-04-30")},
	},
	{
		"a beech gives up some of its leaves at most", "temperate", "2026-04-15", "Fagus sylvatica", calendar.Nursery, "2025-01-01 judged refining strong; 2025-04-20 did pot-change",
		[]expectation{comes("defoliate", "2026-05-20", "2026-07-20"), titled("defoliate", "Take off some leaves"), never("defoliate", "2026-08-10", "2027-05-15")},
	},
	{
		"a refined maple is defoliated when hard, ten weeks before frost", "temperate", "2026-04-15", "Acer palmatum", calendar.Nursery,
		"2025-01-01 judged refining strong; 2025-04-10 did pot-change",
		[]expectation{
			comes("defoliate", "2026-05-15", "2026-07-10"), never("defoliate", "2026-08-10", "2027-05-10"),
			never("feed", "2026-04-15", "2026-05-10"), comes("feed", "2026-05-11", "2026-08-25"), comes("feed-low-nitrogen", "2026-08-20", "2026-11-10"),
			hardIn(1, "2026-04-15", "2026-12-31"),
		},
	},
	{
		"no defoliation where summer is too short for a second crop of leaves", "alpine", "2026-05-01", "Acer pseudoplatanus", calendar.Nursery,
		"2025-01-01 judged refining strong; 2025-05-10 did pot-change",
		[]expectation{never("defoliate", "", "9"), comes("feed", "2026-06-20", "2026-08-25")},
	},
	{
		"no defoliation in a year of repotting", "temperate", "2026-05-20", "Acer palmatum", calendar.Nursery, "2022-01-01 judged refining strong; 2026-04-05 did repot",
		[]expectation{blocked("defoliate", "2026-05-20", "2026-07-31", "Repot, done on 2026-04-05"), hardIn(0, "2026-05-20", "2026-12-31")},
	},
	{
		"an azalea is cut hard after its flowers, and is poisonous", "temperate", "2026-03-01", "Rhododendron x obtusum", calendar.Nursery,
		"2025-01-01 judged building strong; 2025-06-20 did repot",
		[]expectation{
			never("heavy-prune", "2026-03-01", "2026-05-15"), comes("heavy-prune", "2026-05-16", "2026-07-31"),
			never("heavy-prune", "2026-08-15", "2027-05-15"), cautions("heavy-prune", "poisonous"), comes("deadhead", "2026-05-15", "2026-07-31"),
		},
	},
	{
		"a forsythia is repotted after its flowers", "temperate", "2026-02-01", "Forsythia x intermedia", calendar.Nursery, "2023-01-01 judged base-work strong",
		[]expectation{never("repot", "2026-02-01", "2026-03-20"), comes("repot", "2026-03-25", "2026-05-31")},
	},
	{
		"a box tree, with its toxic sap", "temperate", "2026-02-01", "Buxus sempervirens", calendar.Collected, "2023-04-01 did collected",
		[]expectation{
			comes("repot", "2026-03-10", "2026-05-20"), cautions("repot", "sap of this tree irritates"), never("repot", "2026-06-15", "2027-02-28"),
			comes("winter-shelter", "2026-10-15", "2026-12-31"), never("first-style", "2026-02-01", "2026-12-31"),
		},
	},
	{
		"an olive where winters are mild stays out", "mediterranean", "2026-01-10", "Olea europaea", calendar.Collected, "2023-03-01 did collected",
		[]expectation{
			comes("repot", "2026-02-10", "2026-05-15"), never("repot", "2026-06-15", "2027-01-15"), absent("winter-shelter"),
			comes("heat-shade", "2026-05-15", "2026-08-15"), comes("water-watch", "2026-02-20", "2026-05-31"),
			never("frost-watch", "2026-02-01", "2026-03-31"),
		},
	},
	{
		"an olive where winters are cold goes under cover", "temperate", "2026-08-15", "Olea europaea", calendar.Nursery, "2023-01-01 judged building strong; 2025-05-01 did repot",
		[]expectation{comes("winter-shelter", "2026-10-15", "2026-12-31"), comes("out-of-winter", "2027-02-01", "2027-05-01"), never("heavy-prune", "2026-08-25", "2027-05-01")},
	},
	{
		"a holm oak just dug keeps its leaves, and its shade longer", "mediterranean", "2026-03-20", "Quercus ilex", calendar.Collected, "2026-03-12 did collected",
		[]expectation{
			state(calendar.StageCollected, calendar.Recovering), hardIn(0, "2026-03-20", "2027-01-31"), comes("shade-end", "2026-03-26", "2026-04-20"),
			comes("aftercare", "2026-03-12", "2026-03-25"), never("feed", "2026-03-20", "2026-04-22"), comes("feed", "2026-04-23", "2026-08-25"),
			absent("wire"), absent("prune"), absent("defoliate"), next("Now: "),
		},
	},
	{
		"a fig where winter never comes: repotted in warmth, not sheltered", "subtropical", "2026-01-10", "Ficus microcarpa", calendar.Nursery, "2025-10-01 judged building strong",
		[]expectation{absent("winter-shelter"), comes("repot", "2026-01-15", "2026-07-31"), cautions("repot", "Wear gloves"), hardIn(1, "2026-01-10", "2026-12-31")},
	},
	{
		"a fig with real summers and cold winters", "warm temperate", "2026-04-01", "Ficus microcarpa", calendar.Nursery, "2025-10-01 judged building strong",
		[]expectation{
			never("repot", "2026-04-01", "2026-05-05"), comes("repot", "2026-05-06", "2026-08-15"), never("repot", "2026-10-01", "2027-05-01"),
			comes("winter-shelter", "2026-09-15", "2026-11-30"), comes("out-of-winter", "2026-04-01", "2026-06-10"),
		},
	},
	{
		"a refined fig is defoliated in warmth only", "warm temperate", "2026-05-01", "Ficus microcarpa", calendar.Nursery, "2025-01-01 judged refining strong; 2025-05-25 did pot-change",
		[]expectation{comes("defoliate", "2026-05-10", "2026-08-20"), never("defoliate", "2026-09-15", "2027-05-05")},
	},
	{
		"a maple where winter gives no chill is doubtful", "subtropical", "2026-01-10", "Acer palmatum", calendar.Nursery, "2023-01-01 judged building strong",
		[]expectation{never("repot", "", "9"), next("Doubtful here"), absent("dormant-spray")},
	},
	{
		"a southern apple swells in August", "southern", "2026-07-10", "Malus domestica", calendar.FieldGrown, "2023-08-20 did collected",
		[]expectation{comes("repot", "2026-08-10", "2026-10-25"), never("repot", "2027-01-01", "2027-07-31"), comes("feed", "2026-09-15", "2027-02-25"), never("feed", "2027-04-01", "2027-08-15")},
	},
	{
		"a southern olive by a warm sea", "southern mediterranean", "2026-07-10", "Olea europaea", calendar.Nursery, "2023-01-01 judged base-work strong",
		[]expectation{comes("repot", "2026-07-20", "2026-11-15"), absent("winter-shelter"), never("repot", "2027-01-01", "2027-06-30")},
	},
	{
		"an ash by a cool sea is late", "maritime", "2026-03-01", "Fraxinus excelsior", calendar.Nursery, "2023-01-01 judged base-work strong",
		[]expectation{never("repot", "2026-03-01", "2026-04-05"), comes("repot", "2026-04-06", "2026-06-05"), absent("candle-cut")},
	},
	{
		"a birch dug in the far north: a root ball free of frost in its first winter", "boreal", "2026-05-25", "Betula pubescens", calendar.Collected, "2026-05-12 did collected",
		[]expectation{
			hardIn(0, "2026-05-25", "2027-04-30"), comes("winter-shelter", "2026-08-20", "2026-10-31"), titled("winter-shelter", "Bring the root ball where no frost comes"),
			comes("shade-end", "2026-05-19", "2026-06-10"),
		},
	},
	{
		"a hornbeam in its winter rest may be sprayed, by the label", "temperate", "2026-11-20", "Carpinus betulus", calendar.Nursery, "2023-01-01 judged building strong; 2026-04-01 did repot",
		[]expectation{comes("dormant-spray", "2026-11-20", "2027-03-31"), cautions("dormant-spray", "Read the label", "eye protection"), never("heavy-prune", "2027-01-01", "2027-05-10")},
	},
	{
		"a wild cherry is styled in dry summer weather", "temperate", "2026-04-20", "Prunus avium", calendar.Collected, "2022-03-20 did collected; 2025-04-01 did repot",
		[]expectation{comes("first-style", "2026-05-10", "2026-08-20"), never("first-style", "2026-09-01", "2027-05-05"), cautions("first-style", "Cut wire ends")},
	},
}
