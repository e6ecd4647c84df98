package feeds

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/secure/precis"
)

// cost is what one hash of a password takes.
type cost struct {
	memory uint32 // KiB
	time   uint32
	lanes  uint8
}

// usualCost is the second recommended choice of RFC 9106, section 4, for where
// memory is scarce.
var usualCost = cost{memory: 64 << 10, time: 3, lanes: 4}

// greatestCost bounds what is read from a hash, so that a tampered one does not
// take the memory of the machine.
var greatestCost = cost{memory: 1 << 20, time: 16, lanes: 16}

const (
	saltBytes = 16
	hashBytes = 32

	leastPassword   = 12  // letters; NIST SP 800-63B asks for 8 at least
	longestPassword = 128 // letters

	// hashers is how many passwords are hashed at once.
	hashers = 2
)

// passwords hashes passwords by argon2id. At most so many are hashed at once as
// there are slots; others wait.
type passwords struct {
	cost  cost
	slots chan struct{}
	dummy string // the hash of a password that nobody has
}

func newPasswords(c cost) *passwords {
	p := &passwords{cost: c, slots: make(chan struct{}, hashers)}
	p.dummy = format(c, make([]byte, saltBytes), make([]byte, hashBytes))
	return p
}

func (p *passwords) hold(ctx context.Context) (release func(), err error) {
	select {
	case p.slots <- struct{}{}:
		return func() { <-p.slots }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// hash returns the hash of a password in PHC string form, with a new salt.
func (p *passwords) hash(ctx context.Context, random io.Reader, password string) (string, error) {
	release, err := p.hold(ctx)
	if err != nil {
		return "", err
	}
	defer release()
	salt := make([]byte, saltBytes)
	if _, err := io.ReadFull(random, salt); err != nil {
		return "", fmt.Errorf("draw a salt: %w", err)
	}
	return format(p.cost, salt, p.cost.key(password, salt, hashBytes)), nil
}

// verify reports whether a password has the hash, and whether it should be
// hashed anew because the cost has changed. An empty hash, which no password
// has, takes as long.
func (p *passwords) verify(hash, password string) (ok, stale bool, err error) {
	known := hash != ""
	if !known {
		hash = p.dummy
	}
	c, salt, want, err := parse(hash)
	if err != nil {
		return false, false, err
	}
	same := subtle.ConstantTimeCompare(c.key(password, salt, len(want)), want) == 1
	return known && same, c != p.cost, nil
}

func (c cost) key(password string, salt []byte, length int) []byte {
	if folded, err := precis.OpaqueString.String(password); err == nil { // RFC 8265: the same on every keyboard
		password = folded
	}
	return argon2.IDKey([]byte(password), salt, c.time, c.memory, c.lanes, uint32(length)) //nolint:gosec // at most 64
}

func format(c cost, salt, key []byte) string {
	b := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, c.memory, c.time, c.lanes, b.EncodeToString(salt), b.EncodeToString(key))
}

// parse reads what format wrote.
func parse(hash string) (c cost, salt, key []byte, err error) {
	wrong := func(what string) (cost, []byte, []byte, error) {
		return cost{}, nil, nil, fmt.Errorf("hash of a password: %s; want what this service writes", what)
	}
	parts := strings.Split(hash, "$")
	if len(parts) != 6 || parts[0] != "" || parts[1] != "argon2id" || parts[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return wrong("not of argon2id")
	}
	if n, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &c.memory, &c.time, &c.lanes); err != nil || n != 3 {
		return wrong("no cost")
	}
	if c.time == 0 || c.lanes == 0 || c.memory < 8*uint32(c.lanes) || c.memory > greatestCost.memory || c.time > greatestCost.time || c.lanes > greatestCost.lanes {
		return wrong("a cost out of range")
	}
	if salt, err = base64.RawStdEncoding.DecodeString(parts[4]); err != nil || len(salt) < 8 || len(salt) > 64 {
		return wrong("no salt")
	}
	if key, err = base64.RawStdEncoding.DecodeString(parts[5]); err != nil || len(key) < 16 || len(key) > 64 {
		return wrong("no key")
	}
	return c, salt, key, nil
}

// common are passwords of twelve letters and more that are tried first, from
// memory; shorter ones do not get this far.
var common = []string{
	"password1234", "password12345", "password123456", "passwordpassword", "123456789012", "1234567890123", "12345678901234",
	"qwertyuiop12", "qwertyuiop123", "qwertyuiopas", "qwertyuiopasdf", "1q2w3e4r5t6y", "1qaz2wsx3edc", "q1w2e3r4t5y6", "zaq12wsxcde3",
	"administrator", "iloveyou1234", "letmeinletmein", "changemechangeme", "welcome12345", "correcthorsebatterystaple", "trustno1trustno1",
}

// weak says what is wrong with a new password; empty: nothing. There are no
// rules of what kinds of letters it must hold. About are words that anyone who
// knows the person would try.
func weak(password string, about ...string) string {
	n := utf8.RuneCountInString(password)
	switch {
	case !utf8.ValidString(password):
		return "The password must be text."
	case n < leastPassword:
		return fmt.Sprintf("The password must have %d letters or more; a few words in a row do well.", leastPassword)
	case n > longestPassword:
		return fmt.Sprintf("The password must not have more than %d letters.", longestPassword)
	}
	if _, err := precis.OpaqueString.String(password); err != nil {
		return "The password holds a sign that cannot be typed again safely. Use letters, digits, spaces and punctuation."
	}
	plain := strings.ToLower(strings.Join(strings.Fields(password), ""))
	const guessed = "This password is one of the first that anybody would try. Take another; a few words in a row do well."
	for _, c := range common {
		if plain == c {
			return guessed
		}
	}
	// A short piece said again and again, such as abcabcabcabc.
	for size := 1; size <= 4 && size < len(plain); size++ {
		if strings.Repeat(plain[:size], len(plain)/size+1)[:len(plain)] == plain {
			return guessed
		}
	}
	for _, word := range append(about, "budswell") {
		word = strings.ToLower(strings.Join(strings.Fields(word), ""))
		if len(word) >= 4 && len(strings.ReplaceAll(plain, word, "")) < 4 {
			return guessed
		}
	}
	return ""
}
