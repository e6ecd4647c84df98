package feeds

import (
	"cmp"
	"sync"
)

// mostKept is how many things a shelf keeps, unless it is told otherwise, and mostTrees
// of how many trees the plans are that one keeps, besides those in use: the plan of twenty
// trees takes some eight megabytes. What is not at hand is read from the store or made anew.
const (
	mostKept  = 24
	mostTrees = 500
)

// shelf keeps what was made for each key that was asked for last. While one thing
// is being made, others who want it wait for it, and nobody else waits.
type shelf[T any] struct {
	most  int         // things kept; 0: mostKept
	weigh func(T) int // nil: nothing weighs anything
	top   int         // weight of all that is kept

	mu    sync.Mutex
	slots map[string]*slot[T]
	asked uint64 // how often something was
}

type slot[T any] struct {
	asked uint64 // of the shelf, the last time this was asked for; under its lock
	users int    // who are at it now; under the shelf's lock
	heavy int    // its weight; under the shelf's lock

	mu    sync.Mutex
	value T
	made  bool
}

// get returns the thing of key, made anew by make where it is not there or
// fresh says no. Make is given the old one, and false where there was none.
func (s *shelf[T]) get(key string, fresh func(T) bool, make func(old T, made bool) (T, error)) (T, error) {
	s.mu.Lock()
	if s.slots == nil {
		s.slots = map[string]*slot[T]{}
	}
	k := s.slots[key]
	if k == nil {
		k = &slot[T]{}
		s.slots[key] = k
	}
	s.asked++
	k.asked = s.asked
	k.users++
	s.mu.Unlock()
	defer s.leave(k)

	k.mu.Lock()
	defer k.mu.Unlock()
	if k.made && fresh(k.value) {
		return k.value, nil
	}
	v, err := make(k.value, k.made)
	if err != nil {
		return v, err
	}
	k.value, k.made = v, true
	if s.weigh != nil {
		s.mu.Lock()
		k.heavy = s.weigh(v)
		s.mu.Unlock()
	}
	return v, nil
}

// leave makes room when somebody is done with a slot: what was not asked for the
// longest goes, unless somebody is at it.
func (s *shelf[T]) leave(k *slot[T]) {
	s.mu.Lock()
	defer s.mu.Unlock()
	k.users--
	for len(s.slots) > cmp.Or(s.most, mostKept) || len(s.slots) > 1 && s.weight() > s.top {
		oldest := ""
		for key, k := range s.slots {
			if k.users == 0 && (oldest == "" || k.asked < s.slots[oldest].asked) {
				oldest = key
			}
		}
		if oldest == "" {
			return
		}
		delete(s.slots, oldest)
	}
}

func (s *shelf[T]) weight() (n int) {
	for _, k := range s.slots {
		n += k.heavy
	}
	return n
}

// drop forgets the thing of key.
func (s *shelf[T]) drop(key string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.slots, key)
}
