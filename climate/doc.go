// Package climate says what the weather of a place does: its record and its
// normals, its frosts, warmth, chill, day length and evaporation, and how all of
// that varies from year to year. It knows nothing of trees, rules or calendars,
// never reads the clock, and draws random numbers only from a seed it is given.
//
// Temperatures are in degrees Celsius of the air in a screen at 1.5 to 2 m,
// precipitation in millimetres, angles in degrees, days are [Date]. A value that
// is not known is marked so and never guessed at silently.
package climate
