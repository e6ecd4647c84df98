package pages

import (
	"fmt"
	"image"
	"image/color"
	"strings"
	"testing"

	qr "github.com/piglig/go-qr"
)

// TestQRCodeIsRead draws the path as a browser does, module by module, and reads it.
func TestQRCodeIsRead(t *testing.T) {
	for _, web := range []string{
		"http://127.0.0.1:8080/f/abcdefghijklmnopqrstuvwxyz234567.ics",
		"https://" + strings.Repeat("long.", 30) + "example/f/abcdefghijklmnopqrstuvwxyz234567.ics",
	} {
		link := NewLink("x", web)
		c, err := link.QR()
		if err != nil {
			t.Fatal(err)
		}
		const scale = 4
		img := image.NewGray(image.Rect(0, 0, c.Size*scale, c.Size*scale))
		for i := range img.Pix {
			img.Pix[i] = 255
		}
		for _, run := range strings.Split(strings.TrimSuffix(c.Path, "z"), "z") {
			var x, y, n, back int
			if _, err := fmt.Sscanf(run, "M%d %dh%dv1h-%d", &x, &y, &n, &back); err != nil || n != back {
				t.Fatalf("run %q: %v", run, err)
			}
			for i := range n * scale {
				for k := range scale {
					img.SetGray(x*scale+i, y*scale+k, color.Gray{})
				}
			}
		}
		got, err := qr.Decode(img)
		if want := "webcal" + web[strings.Index(web, "://"):]; err != nil || got != want {
			t.Errorf("the code says %q, want %q: %v", got, want, err)
		}
	}
}
