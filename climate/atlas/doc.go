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
//	4,639 stations, left out one by one        1.43                    1.02     0.49
//	of them 2,617 between 25 and 60 N          1.12                    0.97     0.47
//	left out in blocks of 2.5 degrees          1.50                    1.11     0.56
//
// The other 93 stations of the table are never fitted and are not counted above: all of Mongolia, Turkmenistan, Oman and
// Niger, and three more, report means of monthly extremes in place of means of daily ones. Counted as if they
// were right they raise the first line to 1.87 and 1.34. 61 stations that are wrong, or unlike all that
// is around them, are counted but not fitted. Stations in hollows and on summits, and places
// where mountains meet the sea, are where the surface is worst: above 1500 m the root mean square is 2.2 C.
//
// The stated error is half of a band that held 81 % of the left-out values: 75 % of the minima,
// 88 % of the maxima, 76 % above 1500 m.
package atlas
