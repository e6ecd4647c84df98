package wording

import "budswell/climate"

// The functions below speak English, for commands and logs, which have no reader of
// whom a language is known; see [Tongue] for what each says.

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

// Cautions is [Tongue.Cautions] in English.
func Cautions(texts []string) []string { return English.Cautions(texts) }

// Name is [Tongue.Name] in English.
func Name(id string) string { return English.Name(id) }
