package feeds

import (
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// pollers is how many programs ask at once.
const pollers = 8

// poll is one question of a program.
type poll struct {
	method, path, user, password, body string
	headers                            []string
	want                               int
}

// polls has an hour of polls: every feed of every grower once without what it had
// before, and once with it; then the programs that are connected by password. The
// shelves hold few growers, so that nearly every one is answered from the store.
func (r *scaleRun) polls(b *testing.B) {
	b.Helper()
	if r.Polls != nil {
		return
	}
	r.clock.Advance(5 * time.Minute)
	server := httptest.NewServer(r.server.Handler())
	defer server.Close()
	var plain, tagged, program []poll
	for i := range r.people.growers {
		g, err := r.people.of(i)
		if err != nil {
			b.Fatal(err)
		}
		for k, token := range g.tokens {
			path := "/f/" + token + ".ics"
			if k == len(g.tokens)-1 {
				path = "/f/" + token + "/tasks.ics"
			}
			plain = append(plain, poll{method: http.MethodGet, path: path, want: http.StatusOK})
		}
		if g.secret != "" {
			program = append(program, poll{
				method: "PROPFIND", path: "/dav/" + g.ID + "/calendars/tasks/", user: g.ID, password: g.secret, headers: []string{"Depth", "0"}, want: http.StatusMultiStatus,
				body: `<d:propfind xmlns:d="DAV:" xmlns:s="http://calendarserver.org/ns/"><d:prop><s:getctag/><d:sync-token/></d:prop></d:propfind>`,
			})
		}
	}
	tags := r.ask(b, server, "feeds, anew", plain, func(resp *http.Response, _ string) string { return resp.Header.Get("ETag") })
	for i, p := range plain {
		p.headers, p.want = []string{"If-None-Match", tags[i]}, http.StatusNotModified
		tagged = append(tagged, p)
	}
	r.ask(b, server, "feeds, as before", tagged, nil)
	token := regexp.MustCompile(`sync-token[^>]*>([^<]+)<`)
	tokens := r.ask(b, server, "programs, tag", program, func(_ *http.Response, text string) string {
		if m := token.FindStringSubmatch(text); m != nil {
			return m[1]
		}
		return ""
	})
	for i := range program {
		p := &program[i]
		p.method, p.headers = "REPORT", nil
		p.body = `<d:sync-collection xmlns:d="DAV:"><d:sync-token>` + tokens[i] + `</d:sync-token><d:sync-level>1</d:sync-level><d:prop><d:getetag/></d:prop></d:sync-collection>`
	}
	r.ask(b, server, "programs, what changed", program, nil)
	r.keep(b)
}

// ask asks all and returns what keep takes of each answer.
func (r *scaleRun) ask(b *testing.B, server *httptest.Server, name string, all []poll, keep func(*http.Response, string) string) []string {
	b.Helper()
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: pollers, DisableCompression: true}}
	defer client.CloseIdleConnections()
	took, kept := make([]float64, len(all)), make([]string, len(all))
	var next, sent atomic.Int64
	var wait sync.WaitGroup
	began, cpu := time.Now(), cpuSeconds()
	resetPeak()
	for range pollers {
		wait.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(all)); i = next.Add(1) - 1 {
				p, asked := &all[i], time.Now()
				resp, text, n, err := p.ask(client, server.URL)
				if err != nil || resp.StatusCode != p.want {
					b.Errorf("%s %s: %v %v, want %d\n%.300s", p.method, p.path, resp, err, p.want, text)
					return
				}
				took[i] = float64(time.Since(asked).Microseconds()) / 1000
				sent.Add(n)
				if keep != nil {
					kept[i] = keep(resp, text)
				}
			}
		})
	}
	wait.Wait()
	s := scalePolls{Name: name, Polls: len(all), Wall: time.Since(began).Seconds(), CPU: cpuSeconds() - cpu, Sent: sent.Load(), PeakMB: peakMB()}
	s.P50, s.P99, s.Most = quantileOf(took, 0.5), quantileOf(took, 0.99), quantileOf(took, 1)
	r.Polls = append(r.Polls, s)
	progress("%s: %d polls in %.1f s", name, s.Polls, s.Wall)
	return kept
}

func (p *poll) ask(client *http.Client, base string) (resp *http.Response, text string, sent int64, err error) {
	req, err := http.NewRequest(p.method, base+p.path, strings.NewReader(p.body))
	if err != nil {
		return nil, "", 0, err
	}
	req.Header.Set("Accept-Encoding", "gzip")
	if p.password != "" {
		req.SetBasicAuth(p.user, p.password)
	}
	for i := 0; i+1 < len(p.headers); i += 2 {
		req.Header.Set(p.headers[i], p.headers[i+1])
	}
	if resp, err = client.Do(req); err != nil {
		return nil, "", 0, err
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	if err != nil || resp.Header.Get("Content-Encoding") != "gzip" {
		return resp, string(raw), int64(len(raw)), err
	}
	z, err := gzip.NewReader(strings.NewReader(string(raw)))
	if err != nil {
		return resp, "", 0, fmt.Errorf("packed answer: %w", err)
	}
	plain, err := io.ReadAll(z)
	return resp, string(plain), int64(len(raw)), err
}
