package feeds

import (
	"fmt"
	"sync"
	"testing"
)

// A shelf keeps what was asked for last, and nothing of which nobody has asked
// for long, however many keys there are.
func TestShelfIsBounded(t *testing.T) {
	var s shelf[int]
	made := map[string]int{}
	get := func(key string) {
		t.Helper()
		if _, err := s.get(key, func(int) bool { return true }, func(int, bool) (int, error) { made[key]++; return made[key], nil }); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 10 * mostKept {
		get("often")
		get(fmt.Sprint(i))
	}
	if len(s.slots) > mostKept {
		t.Errorf("%d things are kept; want at most %d", len(s.slots), mostKept)
	}
	if get("often"); made["often"] != 1 {
		t.Errorf("what was asked for all the time was made %d times", made["often"])
	}
	if get("0"); made["0"] != 2 {
		t.Errorf("what nobody asked for was made %d times; want it forgotten and made again", made["0"])
	}
}

// What is being made is not forgotten meanwhile: it is made once for all who ask.
func TestShelfKeepsWhatIsBeingMade(t *testing.T) {
	var s shelf[int]
	begun, finish := make(chan struct{}), make(chan struct{})
	made := 0
	slow := func(int, bool) (int, error) {
		made++
		close(begun)
		<-finish
		return 1, nil
	}
	var all sync.WaitGroup
	fresh := func(int) bool { return true }
	all.Go(func() { _, _ = s.get("slow", fresh, slow) })
	<-begun
	for i := range 2 * mostKept {
		if _, err := s.get(fmt.Sprint(i), fresh, func(int, bool) (int, error) { return i, nil }); err != nil {
			t.Fatal(err)
		}
	}
	all.Go(func() { _, _ = s.get("slow", fresh, slow) }) // closes begun twice, and panics, where it is made twice
	close(finish)
	all.Wait()
	if made != 1 {
		t.Errorf("made %d times", made)
	}
}

// Heavy things leave less room, and one that is heavier than the shelf is kept alone.
func TestShelfIsBoundedByWeight(t *testing.T) {
	s := shelf[int]{weigh: func(n int) int { return n }, top: 10}
	put := func(n int) {
		t.Helper()
		if _, err := s.get(fmt.Sprint(n), func(int) bool { return true }, func(int, bool) (int, error) { return n, nil }); err != nil {
			t.Fatal(err)
		}
	}
	for _, row := range []struct{ put, kept, weight int }{{4, 1, 4}, {5, 2, 9}, {1, 3, 10}, {6, 2, 7}, {99, 1, 99}, {2, 1, 2}} {
		put(row.put)
		if len(s.slots) != row.kept || s.weight() != row.weight {
			t.Errorf("after %d: %d things of weight %d are kept, want %d of %d", row.put, len(s.slots), s.weight(), row.kept, row.weight)
		}
	}
}
