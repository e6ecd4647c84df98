package pages

import (
	"fmt"
	"strings"

	qr "github.com/piglig/go-qr"
)

// Code is a QR code as a picture.
type Code struct {
	Size int    // side, in modules, with the margin
	Path string // of the dark modules
}

// quiet is the margin that readers want, in modules (ISO/IEC 18004, 9.1).
const quiet = 4

// QR returns the code of the link that calendar programs open.
func (l *Link) QR() (Code, error) { return codeOf(string(l.Webcal)) }

func codeOf(text string) (Code, error) {
	c, err := qr.EncodeText(text, qr.Medium)
	if err != nil {
		return Code{}, fmt.Errorf("QR code: %w", err)
	}
	var b strings.Builder
	n := c.Size()
	for y := range n {
		for x := 0; x < n; x++ {
			if !c.Module(x, y) {
				continue
			}
			from := x
			for x < n && c.Module(x, y) {
				x++
			}
			fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", from+quiet, y+quiet, x-from, x-from)
		}
	}
	return Code{Size: n + 2*quiet, Path: b.String()}, nil
}
