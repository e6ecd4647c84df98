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
// days stray comes from the normals alone, fitted to frost days and lowest minima of the
// WMO Climatological Normals 1991-2020. TestGeneratorOfTheWorld makes years from the normals of
// every station and compares them with what was counted there (root mean square error and bias; the model's
// lowest minimum is the mean over ten times thirty years, the station's that of its one):
//
//	                                 stations  frost days      lowest of a     lowest of
//	                                           a month         month, C        all months, C
//	all                                  2588  0.98   +0.04    2.47   -0.14    2.84   +0.19
//	tropics                               553  1.39   -0.07    2.08   +0.25    2.52   +1.23
//	beyond: swing below 14 C, maritime    261  0.70   -0.06    2.23   -0.03    2.14   -0.54
//	swing 14 to 18 C                      428  1.00   +0.16    2.54   -0.49    2.84   -0.81
//	swing 18 to 22 C                      643  0.92   +0.05    2.53   -0.35    2.75   +0.09
//	swing 22 to 30 C, continental         550  0.89   +0.07    2.71   -0.22    3.13   +0.09
//	swing above 30 C                      153  0.76   -0.09    3.10   -0.37    4.04   -0.89
//	above 1500 m                          137  1.04   -0.06    2.48   -0.07    3.04   -0.25
//	south of 23.5 S                        16  0.80   -0.31    2.60   +2.02    1.99   +0.90
//
// Swing is the warmest less the coldest month. Left out are countries whose columns hold something
// else than they say (Mongolia, Turkmenistan, Oman, Niger: means of monthly extremes; Brazil: frosts of all
// thirty years; Germany, Belarus, Montenegro, Romania: lowest minima), three stations of the same kind and single lowest
// minima that are slips. The southern stations are few, and all in Uruguay.
package climate
