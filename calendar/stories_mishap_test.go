package calendar_test

import "budswell/calendar"

// Stories of seasons that depart from the usual, and of works that were missed,
// done twice or out of order; see [stories]. What each must say is common practice,
// no published source.
var mishapStories = []story{
	{
		"after a usual winter a maple swells at the end of March", "after a usual winter", "2026-03-05", "Acer campestre", calendar.Collected, "2023-03-20 did collected",
		[]expectation{never("repot", "2026-03-05", "2026-03-14"), comes("repot", "2026-03-15", "2026-05-05")},
	},
	{
		"a mild winter brings buds forward by weeks, not the last frost", "after a mild winter", "2026-03-20", "Acer campestre", calendar.Collected, "2023-03-20 did collected",
		[]expectation{comes("repot", "2026-02-20", "2026-03-31"), never("repot", "2026-04-15", "2027-02-15"), closes("repot", "2026-03-20", "2026-04-22")},
	},
	{
		"repotted early after a mild winter: six weeks of frost to watch", "after a mild winter", "2026-03-10", "Acer campestre", calendar.Collected, "2023-03-20 did collected; 2026-03-03 did repot",
		[]expectation{closes("frost-watch", "2026-04-14", "2026-04-14"), comes("shade-end", "2026-03-17", "2026-04-03"), never("feed", "2026-03-10", "2026-04-13")},
	},
	{
		"a cool spring puts the repot off", "in a cool spring", "2026-04-10", "Acer campestre", calendar.Collected, "2023-03-20 did collected",
		[]expectation{comes("repot", "2026-04-10", "2026-06-05"), closes("repot", "2026-04-25", "2026-06-20"), never("heavy-prune", "2026-04-10", "2026-05-31")},
	},
	{
		"a late frost finds a Japanese maple in leaf", "after a late frost", "2026-04-18", "Acer palmatum", calendar.Nursery, "2025-01-01 judged refining strong; 2025-04-01 did pot-change; 2026-04-12 saw leaf-out",
		[]expectation{comes("frost-watch", "2026-03-20", "2026-05-20"), cautions("frost-watch", "can start fires"), never("repot", "2026-04-18", "2027-02-15"), next("frost")},
	},
	{
		"drought and heat: shade and water, nothing hard", "in a drought", "2026-07-20", "Acer palmatum", calendar.Nursery, "2022-01-01 judged building strong; 2026-04-05 did repot",
		[]expectation{comes("water-watch", "2026-07-13", "2026-07-27"), comes("heat-shade", "2026-05-20", "2026-08-15"), hardIn(0, "2026-07-20", "2027-02-15"), cautions("heat-shade", "Work early or late")},
	},
	{
		"an early winter brings the shelter forward", "in an early winter", "2026-11-01", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged building strong; 2026-04-01 did repot",
		[]expectation{comes("winter-shelter", "2026-10-10", "2026-11-25"), never("wire", "2026-11-01", "2026-11-15")},
	},
	{
		"the repot missed by ten days is missed by a year", "temperate", "2026-05-15", "Acer campestre", calendar.Collected, "2023-03-20 did collected",
		[]expectation{never("repot", "2026-05-15", "2027-02-28"), comes("repot", "2027-03-10", "2027-05-10"), blocked("first-style", "2026-05-15", "2026-08-31", "no styling before the first repot"), hardIn(0, "2026-05-15", "2027-02-28")},
	},
	{
		"styled before its first repot", "temperate", "2026-07-15", "Acer campestre", calendar.Collected, "2024-03-20 did collected; 2026-06-10 did first-style",
		[]expectation{flagged(calendar.FlagUnrepotted), hardIn(0, "2026-07-15", "2026-12-31"), never("repot", "2026-07-15", "2026-12-31"), comes("wire-check", "2026-07-08", "2026-07-29")},
	},
	{
		"repotted in two springs running", "temperate", "2026-05-20", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged building strong; 2025-04-02 did repot; 2026-04-05 did repot",
		[]expectation{flagged(calendar.FlagRest), hardIn(0, "2026-05-20", "2026-12-31"), blocked("repot", "2027-03-01", "2027-05-31", "2 growing seasons after repot")},
	},
	{
		"a pine repotted a year after it was dug", "temperate", "2026-06-01", "Pinus sylvestris", calendar.Collected, "2025-04-15 did collected; 2026-04-20 did repot",
		[]expectation{flagged(calendar.FlagStrength), hardIn(0, "2026-06-01", "2027-12-31"), never("first-style", "", "9"), comes("vigour-check", "2026-06-15", "2026-10-15")},
	},
	{
		"wired the year before a show, and left on", "temperate", "2026-08-01", "Carpinus betulus", calendar.Nursery, "2023-01-01 judged exhibition strong; 2026-02-10 did wire",
		[]expectation{comes("unwire", "2026-08-01", "2026-12-10"), blocked("show", "2026-11-01", "2027-03-31", "wire"), comes("wire-check", "2026-07-18", "2026-08-15")},
	},
	{
		"wire forgotten on a juniper for two years", "temperate", "2026-07-15", "Juniperus chinensis", calendar.Nursery, "2021-01-01 judged building strong; 2022-04-15 did repot; 2024-10-10 did wire",
		[]expectation{comes("unwire", "2026-07-15", "2026-12-31"), blocked("wire", "2026-09-01", "2027-03-31", "wire on the tree since 2024-10-10"), comes("wire-check", "2026-06-17", "2026-08-12")},
	},
	{
		"cut hard and repotted in one season", "temperate", "2026-07-10", "Acer palmatum", calendar.Nursery, "2025-10-01 judged building strong; 2026-04-02 did repot; 2026-06-05 did heavy-prune",
		[]expectation{flagged(calendar.FlagRest), hardIn(0, "2026-07-10", "2027-03-31"), comes("feed", "2026-06-25", "2026-08-25")},
	},
	{
		"still in the shade in July", "temperate", "2026-07-10", "Acer campestre", calendar.Collected, "2026-03-20 did collected",
		[]expectation{never("shade", "2026-05-01", "9"), hardIn(0, "2026-07-10", "2027-02-15"), comes("vigour-check", "2026-05-15", "2026-08-15")},
	},
	{
		"shown last winter: a season of rest", "temperate", "2026-02-10", "Pinus parviflora", calendar.Nursery, "2022-01-01 judged exhibition strong; 2026-01-25 did show",
		[]expectation{blocked("repot", "2026-03-15", "2026-06-15", "show (done on 2026-01-25)"), hardIn(0, "2026-02-10", "2026-10-31"), comes("feed", "2026-06-01", "2026-08-31")},
	},
}
