package wording

import "budswell/climate"

// The functions below speak English, for commands and logs, which have no reader of
// whom a language is known; see [Tongue] for what each says.

// Day is [Tongue.Day] in English.
func Day(d climate.Date) string { return English.Day(d) }

// ShortDay is [Tongue.ShortDay] in English.
func ShortDay(d climate.Date) string { return English.ShortDay(d) }

// WeekDay is [Tongue.WeekDay] in English.
func WeekDay(d climate.Date) string { return English.WeekDay(d) }

// Spread is [Tongue.Spread] in English.
func Spread(s climate.Spread) string { return English.Spread(s) }

// HowSure is [Tongue.HowSure] in English.
func HowSure(p float64) string { return English.HowSure(p) }

// Percent is [Tongue.Percent] in English.
func Percent(p float64) string { return English.Percent(p) }

// Count is [Tongue.Count] in English.
func Count(n int, thing string) string { return English.Count(n, thing) }

// Effort is [Tongue.Effort] in English.
func Effort(minutes int) string { return English.Effort(minutes) }

// Rests is [Tongue.Rests] in English.
func Rests(b climate.Basis) string { return English.Rests(b) }

// Supply is [Tongue.Supply] in English.
func Supply(s climate.Supply, on climate.Date) string { return English.Supply(s, on) }

// Cautions is [Tongue.Cautions] in English.
func Cautions(texts []string) []string { return English.Cautions(texts) }

// Name is [Tongue.Name] in English.
func Name(id string) string { return English.Name(id) }

// Lower is [Tongue.Lower] in English.
func Lower(id string) string { return English.Lower(id) }

// Group is [Tongue.Group] in English.
func Group(id string) string { return English.Group(id) }

// Share is [Tongue.Share] in English.
func Share(x float64) string { return English.Share(x) }

// Likelihood is [Tongue.Likelihood] in English.
func Likelihood(p float64) string { return English.Likelihood(p) }
