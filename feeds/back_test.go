package feeds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

func TestTakeBack(t *testing.T) {
	b := newBed(t)
	b.set(time.Date(2027, time.March, 20, 6, 0, 0, 0, time.UTC))
	b.open()
	path := "/trees/ridge-maple/log"
	entry := url.Values{"on": {"2027-03-18"}, "what": {"did:repot"}, "note": {"in \"pumice\" <b>"}}
	b.post(path, entry)
	b.post(path, url.Values{"on": {"2027-03-19"}, "what": {"did:wire"}})
	forms := find(b.send(b.client, http.MethodGet, path, nil).node(t), "form", "action", path+"/back")
	if len(forms) != 2 {
		t.Fatalf("%d entries can be taken back, want 2", len(forms))
	}
	said := attr(find(forms[1], "input", "name", "entry")[0], "value") // the newest stands first
	if !strings.Contains(said, "pumice") {
		t.Fatalf("the second entry is %s", said)
	}
	a := b.post(path+"/back", url.Values{"entry": {said}})
	if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "ridge maple: taken back, and planned anew.") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if log := b.logOf("ridge-maple"); len(log) != 1 || log[0].Did != "wire" {
		t.Errorf("the log is %+v", log)
	}
	for name, row := range map[string]struct {
		entry  string
		status int
	}{
		"again":      {said, http.StatusNotFound},
		"not JSON":   {"{", http.StatusUnprocessableEntity},
		"no day":     {`{"on": "soon", "did": "repot"}`, http.StatusUnprocessableEntity},
		"nothing":    {"", http.StatusUnprocessableEntity},
		"never said": {`{"on": "2027-03-01", "did": "repot"}`, http.StatusNotFound},
	} {
		if a := b.post(path+"/back", url.Values{"entry": {row.entry}}); a.StatusCode != row.status {
			t.Errorf("%s: %s", name, a.Status)
		}
	}
	if a := b.send(b.client, http.MethodPost, path+"/back", url.Values{"entry": {said}}); a.StatusCode != http.StatusForbidden && a.StatusCode != http.StatusBadRequest {
		t.Errorf("without a token against forged forms: %s", a.Status)
	}
	// Logged again, it stands again.
	b.post(path, entry)
	if len(b.logOf("ridge-maple")) != 2 {
		t.Error("what was taken back cannot be logged again")
	}
}

// FuzzPreferencesOf reads forms of any bytes: what it takes is always valid.
func FuzzPreferencesOf(f *testing.F) {
	f.Add(chosen(func(url.Values) {}).Encode())
	f.Add("kind=heat&level=50&moved=10&week_day=0&cap=1&from=00:00&to=23:59&zone=")
	f.Add("level=-1&moved=9999999999999999999&from=24:00&zone=%00")
	f.Fuzz(func(t *testing.T, form string) {
		v, err := url.ParseQuery(form)
		if err != nil {
			return
		}
		if p, fault := preferencesOf(v); fault == "" {
			if err := p.Validate(); err != nil {
				t.Errorf("took %q: %v", form, err)
			}
		}
	})
}
