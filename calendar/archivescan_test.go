package calendar

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
)

func TestScanArchive(t *testing.T) {
	for _, list := range []string{".growers", "growers.places", "growers.trees", "trees.log", "growers.feeds"} {
		if !slices.Contains(objectLists, list) {
			t.Errorf("%s is not among the lists of objects: %q", list, objectLists)
		}
	}
	grower := func(trees string) string { return `{"growers":[{"id":"a",` + "\n" + `"trees":[` + trees + `]}]}` }
	for name, row := range map[string]struct{ text, says string }{
		"numbers": {grower(strings.Repeat("0,", 100) + "0"), `2: trees: "0": want an object`},
		"nulls":   {grower("{},null"), `want an object`},
		"lists":   {grower("[]"), `want an object`},
		"capital": {strings.Replace(grower("{},0"), "trees", "TREES", 1), "want an object"},
		"logs":    {grower(`{"log":[{"on":"2026-01-01","depth":[1]},"x"]}`), `log: "x": want an object`},
		"many":    {grower(strings.Repeat("{},", 3000) + "{}"), "more than 15"},
	} {
		if err := scanArchive([]byte(row.text)); !errors.Is(err, ErrInvalid) || !strings.Contains(fmt.Sprint(err), row.says) {
			t.Errorf("%s: %v; want %q", name, err, row.says)
		}
	}
	for _, text := range []string{
		"", "x", "[", "{", "[0,null]", grower(""), grower("{"), grower(`{"name":"growers","tmin":[0,null]}`),
		`{"growers":[{"feeds":[{"filter":{"trees":["third"]}}]}]}`, `{"growers":null,"x":{"trees":{"a":[1]}}}`, grower(strings.Repeat(`{"name":"ridge maple"},`, 3000) + "{}"),
	} {
		if err := scanArchive([]byte(text)); err != nil {
			t.Errorf("%.60s: %v", text, err)
		}
	}
}
