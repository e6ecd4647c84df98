package feeds

import "sync"

// shelf keeps what was made for each key. While one thing is being made, others
// who want it wait for it, and nobody else waits.
type shelf[T any] struct {
	mu    sync.Mutex
	slots map[string]*slot[T]
}

type slot[T any] struct {
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
	s.mu.Unlock()

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
	return v, nil
}

// drop forgets the thing of key.
func (s *shelf[T]) drop(key string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.slots, key)
}
