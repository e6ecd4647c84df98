package feeds

import (
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"fmt"
	"io"
	"regexp"
)

// secretBytes is the length of the random part of a link: 160 bits, above the
// 128 that make guessing hopeless, and a whole number of base-32 letters.
const secretBytes = 20

// secretForm is what every secret looks like; nothing else is looked up.
var secretForm = regexp.MustCompile(`^[a-z2-7]{32}$`)

var secretAlphabet = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// NewSecret draws the secret of a link from random. What is stored is its hash.
func NewSecret(random io.Reader) (secret, hash string, err error) {
	b := make([]byte, secretBytes)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", "", fmt.Errorf("draw the secret of a link: %w", err)
	}
	secret = secretAlphabet.EncodeToString(b)
	return secret, HashSecret(secret), nil
}

// HashSecret returns what is stored of a secret: its SHA-256 in hex. A secret
// has 160 random bits, so a slow hash would add nothing.
func HashSecret(secret string) string {
	h := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(h[:])
}
