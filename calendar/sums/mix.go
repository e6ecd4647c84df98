package sums

import (
	"fmt"
	"strconv"
	"strings"
)

// ParseMix reads a mix written as parts by volume of [Components], such as "2 pumice,
// 1 lava, 1 baked clay". A name without a number is one part.
func ParseMix(text string) (Mix, error) {
	var m Mix
	for _, item := range strings.Split(text, ",") {
		item = strings.TrimSpace(item)
		parts, name := 1.0, item
		if first, rest, ok := strings.Cut(item, " "); ok {
			if v, err := strconv.ParseFloat(first, 64); err == nil {
				parts, name = v, strings.TrimSpace(rest)
			}
		}
		c, ok := ComponentNamed(name)
		if !ok {
			return nil, fmt.Errorf("component %q: %w: want one of %s", name, ErrRange, strings.Join(componentNames(), ", "))
		}
		m = append(m, Part{c, parts})
	}
	return m, m.Check()
}

func componentNames() []string {
	var out []string
	for _, c := range Components() {
		out = append(out, c.Name)
	}
	return out
}
