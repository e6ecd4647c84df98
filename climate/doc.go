// Package climate says what the weather of a place does: its record and its
// normals, its frosts, warmth, chill, day length and evaporation, and how all of
// that varies from year to year. It knows nothing of trees, rules or calendars,
// never reads the clock, and draws random numbers only from a seed it is given.
//
// Temperatures are in degrees Celsius of the air in a screen at 1.5 to 2 m,
// precipitation in millimetres, angles in degrees, days are [Date]. A value that
// is not known is marked so and never guessed at silently.
//
// # Generated years
//
// Where only normals are known, years are generated about them ([Normals.Cycle]). How far
// days stray comes from the normals and the region alone, fitted to frost days and lowest minima of
// the WMO Climatological Normals 1991-2020. TestSpreadFitWithout fits it to half of the stations, makes years from
// the normals of the other half, and the other way round, and compares them with what was counted there (root
// mean square error and bias; the model's lowest minimum is the mean over ten times thirty years, the
// station's that of its one, which alone is good to 1.6 C; robust: without the worst two in a hundred):
//
//	                                 stations  frost days      lowest of a     lowest of       robust
//	                                           a month         month, C        all months, C
//	all                                  2588  0.88   +0.05    2.32   -0.18    2.44   +0.10    2.17
//	tropics                               553  1.40   -0.07    1.98   -0.20    2.18   +0.62    1.75
//	beyond: swing below 14 C, maritime    261  0.64   +0.00    2.04   +0.11    1.89   -0.51    1.74
//	swing 14 to 18 C                      428  0.89   +0.14    2.43   -0.28    2.50   -0.62    2.29
//	swing 18 to 22 C                      643  0.74   +0.07    2.43   -0.21    2.45   +0.27    2.23
//	swing 22 to 30 C, continental         550  0.80   +0.06    2.48   -0.23    2.58   -0.00    2.38
//	swing above 30 C                      153  0.67   -0.07    2.82   -0.03    3.37   -0.35    3.07
//	above 1500 m                          137  1.02   -0.05    2.54   +0.25    3.07   +0.03    2.75
//	south of 23.5 S                        16  0.62   -0.21    1.80   +0.74    1.87   -0.87    1.59
//
// With every other field of ten degrees left out, neighbours and all, the first row is 0.90, 2.37,
// 2.53 and 2.27. Days of frost follow: against those that the monthly counts tell, the 10, 50 and 90 % days of
// the last frost stray by 5.8, 6.6 and 8.4 days, with biases of +0.2, +0.1 and +0.7, those of the first frost by
// 7.7, 6.0 and 5.5, with -0.7, +0.5 and +0.9 (TestGeneratorOfTheWorld). [TypicalYear] states the error at a place.
//
// Swing is the warmest less the coldest month. Left out are countries whose columns hold something
// else than they say (Mongolia, Turkmenistan, Oman, Niger: means of monthly extremes; Brazil: frosts of all
// thirty years; Germany, Belarus, Montenegro, Romania: lowest minima), three stations of the same kind and single lowest
// minima that are slips. The southern stations are few, and all in Uruguay.
package climate
