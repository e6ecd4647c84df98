package feeds

import (
	"strings"
	"testing"
)

func TestWeakPasswords(t *testing.T) {
	for password, ok := range map[string]bool{
		"four larches and a stone":       true,
		"ääääöööö§§12":                   true,
		"twelve signs":                   true,
		"eleven sign":                    false,
		strings.Repeat("long words ", 6): true, // 66: a passphrase
		strings.Repeat("abcdefg ", 17):   false,
		"Password 1234":                  false,
		"aaaaaaaaaaaaaaa":                false,
		"abcdabcdabcdab":                 false,
		"Ada Lovely 12":                  false,
		"budswellbudswell":               false,
		"bell\aringing here":             false,
		"not \xff text here":             false,
	} {
		if words := weak(password, "Ada Lovely", "ada@example.org"); (words == "") != ok {
			t.Errorf("%q: %q", password, words)
		}
	}
}

func TestHashesOfPasswords(t *testing.T) {
	// The vector of RFC 9106, 5.3, has a secret and associated data, which PHC
	// strings do not; so these hold what cannot be read.
	p := newPasswords(quick)
	hash, err := p.hash(t.Context(), strings.NewReader(strings.Repeat("salt", 4)), phrase)
	if err != nil {
		t.Fatal(err)
	}
	if ok, stale, err := p.verify(hash, phrase); !ok || stale || err != nil {
		t.Errorf("ok %v, stale %v, %v", ok, stale, err)
	}
	if ok, _, err := p.verify(hash, another); ok || err != nil {
		t.Errorf("another password: ok %v, %v", ok, err)
	}
	parts := strings.Split(hash, "$")
	with := func(i int, v string) string {
		q := append([]string{}, parts...)
		q[i] = v
		return strings.Join(q, "$")
	}
	for _, bad := range []string{
		"x", with(1, "argon2i"), with(2, "v=16"), with(3, "m=64"), with(3, "m=4294967295,t=1,p=1"), with(3, "m=64,t=0,p=1"),
		with(3, "m=64,t=1,p=0"), with(3, "m=7,t=1,p=1"), with(4, "!"), with(4, "YQ"), with(5, "YQ"), with(5, strings.Repeat("YWFh", 30)), hash + "$",
	} {
		if ok, _, err := p.verify(bad, phrase); ok || err == nil {
			t.Errorf("%s: ok %v, %v", bad, ok, err)
		}
	}
}

func FuzzHashOfPassword(f *testing.F) {
	f.Add("$argon2id$v=19$m=64,t=1,p=1$c2FsdHNhbHQ$aGFzaGhhc2hoYXNoaGFzaA")
	f.Add("$argon2id$v=19$m=99999999,t=1,p=1$$")
	f.Fuzz(func(t *testing.T, hash string) {
		c, salt, key, err := parse(hash)
		if err == nil && (c.memory > greatestCost.memory || c.time > greatestCost.time || c.lanes == 0 || len(salt) < 8 || len(key) < 16) {
			t.Errorf("%q is read as %+v", hash, c)
		}
	})
}

func BenchmarkPassword(b *testing.B) {
	p := newPasswords(usualCost)
	for b.Loop() {
		if ok, _, err := p.verify("", phrase); ok || err != nil {
			b.Fatal(ok, err)
		}
	}
}
