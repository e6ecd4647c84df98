package calendar_test

import "budswell/calendar"

// Stories of conifers; see [stories]. What each must say is common practice, no
// published source.
var coniferStories = []story{
	{
		// The story that the project began with: collected pine, potted in April, cool
		// spring.
		"a pine potted in April of a cool spring", "in a cool spring", "2026-05-05", "Pinus sylvestris", calendar.Collected, "2026-04-18 did collected",
		[]expectation{
			state(calendar.StageCollected, calendar.Recovering), comes("shade-end", "2026-04-25", "2026-05-16"), hardIn(0, "2026-05-05", "2027-12-31"),
			closes("frost-watch", "2026-05-30", "2026-05-30"), never("feed", "2026-05-05", "2026-05-29"), comes("feed", "2026-05-30", "2026-08-25"),
			absent("wire"), absent("candle-shorten"), absent("needle-thin"), absent("repot"),
		},
	},
	{
		"a pine in the ground may be dug in early autumn", "temperate", "2026-07-15", "Pinus sylvestris", calendar.Collected, "",
		[]expectation{comes("collect", "2026-08-25", "2026-10-31"), never("collect", "2026-11-05", "2027-02-28"), cautions("collect", "landowner's permission"), absent("repot")},
	},
	{
		"not in autumn where the ground freezes soon", "boreal", "2026-07-15", "Pinus sylvestris", calendar.Collected, "",
		[]expectation{never("collect", "2026-09-10", "2027-03-31"), comes("collect", "2027-04-15", "2027-06-15")},
	},
	{
		"a pine dug in September: soft roots meet the first frosts", "temperate", "2026-09-10", "Pinus sylvestris", calendar.Collected, "2026-09-02 did collected",
		[]expectation{
			comes("frost-watch", "2026-09-02", "2026-11-15"), comes("winter-shelter", "2026-09-20", "2026-12-01"), never("feed", "2026-09-10", "2027-04-30"),
			hardIn(0, "2026-09-10", "2028-02-28"), absent("wire"), comes("shade-end", "2026-09-08", "2026-10-01"),
		},
	},
	{
		"a pine's field soil goes by halves, as the candles move", "temperate", "2026-03-01", "Pinus sylvestris", calendar.Collected, "2022-04-15 did collected",
		[]expectation{
			state(calendar.StageBaseWork, calendar.Strong), never("repot", "2026-03-01", "2026-03-20"), comes("repot", "2026-03-21", "2026-05-20"),
			titled("repot", "Take away half of the field soil"), blocked("first-style", "2026-09-01", "2027-03-31", "no styling before the first repot"),
			hardIn(1, "2026-03-01", "2026-12-31"),
		},
	},
	{
		"a white pine keeps its one flush", "temperate", "2026-03-01", "Pinus parviflora", calendar.Grafted, "2022-01-01 judged building strong; 2025-04-20 did repot",
		[]expectation{
			absent("candle-cut"), absent("candle-shorten"), blocked("repot", "2026-03-01", "2026-06-15", "3 growing seasons after repot"),
			comes("needle-thin", "2026-09-15", "2026-12-31"),
		},
	},
	{
		"a mountain pine that is weak gets food and time", "alpine", "2026-05-15", "Pinus mugo", calendar.Collected, "2021-06-01 did collected; 2026-05-01 judged - weak",
		[]expectation{hardIn(0, "2026-05-15", "2027-09-30"), never("repot", "", "9"), comes("feed", "2026-06-01", "2026-08-25"), never("needle-thin", "", "9"), never("wire", "", "9")},
	},
	{
		"a larch is first of all", "temperate", "2026-02-01", "Larix decidua", calendar.Collected, "2022-03-20 did collected",
		[]expectation{comes("repot", "2026-02-15", "2026-04-15"), titled("repot", "Take away field soil"), never("first-style", "2026-02-01", "2026-12-31"), comes("pest-check", "2026-02-15", "2026-05-31")},
	},
	{
		"a larch on the mountain, still in the ground", "alpine", "2026-02-15", "Larix decidua", calendar.Collected, "",
		[]expectation{never("collect", "2026-02-15", "2026-03-20"), comes("collect", "2026-03-25", "2026-06-05"), never("collect", "2026-06-20", "2027-03-15")},
	},
	{
		"a swamp cypress in a warm wet place", "warm temperate", "2026-02-01", "Taxodium distichum", calendar.Nursery, "2023-01-01 judged base-work strong",
		[]expectation{comes("repot", "2026-02-20", "2026-05-05"), never("repot", "2026-06-01", "2027-01-31")},
	},
	{
		"black pine where it is at home: candles in early summer", "warm temperate", "2026-05-01", "Pinus thunbergii", calendar.Nursery, "2022-01-01 judged refining strong; 2024-04-01 did repot",
		[]expectation{comes("candle-cut", "2026-06-20", "2026-08-20"), never("candle-cut", "2026-09-01", "2027-05-31"), comes("shoot-select", "2026-09-20", "2026-12-31")},
	},
	{
		"an Aleppo pine under a dry sky", "mediterranean", "2026-01-10", "Pinus halepensis", calendar.Collected, "2021-10-05 did collected",
		[]expectation{comes("repot", "2026-01-20", "2026-05-05"), never("repot", "2026-06-15", "2026-12-31"), comes("heat-shade", "2026-05-15", "2026-08-15"), absent("winter-shelter")},
	},
	{
		"candles missed: not in September", "temperate", "2026-09-01", "Pinus thunbergii", calendar.Nursery, "2025-01-01 judged refining strong; 2025-04-15 did pot-change",
		[]expectation{never("candle-cut", "2026-09-01", "2027-05-31"), comes("candle-cut", "2027-06-10", "2027-08-20")},
	},
	{
		"a weak black pine keeps its candles", "temperate", "2026-05-01", "Pinus thunbergii", calendar.Nursery, "2022-01-01 judged refining strong; 2024-04-15 did repot; 2026-04-01 judged - weak",
		[]expectation{blocked("candle-cut", "2026-06-01", "2026-08-31", "weak"), hardIn(0, "2026-05-01", "2027-03-01"), comes("feed", "2026-05-01", "2026-09-05")},
	},
	{
		"a spruce is pinched while its shoots are soft", "temperate", "2026-03-15", "Picea abies", calendar.Nursery, "2025-01-01 judged refining strong; 2025-04-25 did pot-change",
		[]expectation{comes("pinch", "2026-04-15", "2026-06-10"), never("pinch", "2026-03-15", "2026-04-10"), never("pinch", "2026-07-01", "2027-04-10")},
	},
	{
		"a spruce that is being built keeps its shoots", "temperate", "2026-03-15", "Picea abies", calendar.Collected, "2018-04-25 did collected; 2020-04-28 did repot; 2023-04-28 did repot; 2024-09-20 did first-style; 2025-09-20 did unwire",
		[]expectation{state(calendar.StageBuilding, calendar.Strong), absent("pinch"), comes("feed", "2026-04-20", "2026-08-25"), hardIn(1, "2026-03-15", "2026-12-31")},
	},
	{
		"a yew, poisonous in nearly all of its parts", "temperate", "2026-03-15", "Taxus baccata", calendar.Nursery, "2025-01-01 judged refining strong; 2025-04-20 did pot-change",
		[]expectation{comes("pinch", "2026-05-01", "2026-07-15"), cautions("pinch", "poisonous"), titled("pinch", "Shorten the soft shoots"), absent("candle-shorten")},
	},
	{
		"a juniper's field soil leaves by thirds, for it answers root work badly", "temperate", "2026-02-15", "Juniperus communis", calendar.Collected, "2020-04-10 did collected; 2023-04-12 did repot",
		[]expectation{comes("repot", "2026-03-10", "2026-06-05"), titled("repot", "Take away a third of the field soil"), never("repot", "2026-07-01", "2027-02-28"), hardIn(1, "2026-02-15", "2026-12-31")},
	},
	{
		"a juniper is styled in autumn, never in frost", "temperate", "2026-07-15", "Juniperus sabina", calendar.Collected, "2021-04-10 did collected; 2024-04-20 did repot; 2024-04-20 did root-flare",
		[]expectation{
			state(calendar.StageFirstStyling, calendar.Strong), comes("first-style", "2026-09-10", "2026-12-15"), never("first-style", "2026-07-15", "2026-09-05"),
			cautions("first-style", "Frozen branches"), hardIn(1, "2026-07-15", "2027-02-15"),
		},
	},
	{
		"a southern pine is styled in the southern autumn", "southern", "2026-12-01", "Pinus nigra", calendar.Collected, "2021-09-20 did collected; 2024-09-25 did repot; 2024-09-25 did root-flare",
		[]expectation{comes("first-style", "2027-03-10", "2027-07-31"), never("first-style", "2026-12-01", "2027-02-28"), comes("feed", "2026-12-01", "2027-02-25")},
	},
	{
		"a juniper where winters are mild is never stopped by root cold", "maritime", "2026-02-01", "Juniperus chinensis", calendar.Nursery, "2022-04-15 did repot; 2025-10-01 judged building strong",
		[]expectation{comes("repot", "2026-02-20", "2026-06-10"), never("repot", "2026-08-01", "2027-02-15"), absent("heat-shade"), absent("candle-cut")},
	},
	{
		"pads are laid once the field soil is gone, and not before", "temperate", "2026-08-01", "Pinus sylvestris", calendar.Collected,
		"2014-04-15 did collected; 2017-04-20 did repot; 2019-10-01 did first-style; 2020-10-01 did unwire; 2026-03-01 judged second-styling strong",
		[]expectation{blocked("second-style", "2026-09-01", "2027-03-31", "field soil"), hardIn(1, "2026-08-01", "2027-06-30")},
	},
	{
		"a pine in hard winters is out late", "continental", "2027-01-10", "Pinus ponderosa", calendar.Collected, "2022-04-20 did collected",
		[]expectation{comes("out-of-winter", "2027-02-15", "2027-05-15"), never("repot", "2027-01-10", "2027-03-20"), comes("repot", "2027-03-25", "2027-06-01"), comes("water-watch", "2026-12-20", "2027-01-31")},
	},
}
