package nudge

import (
	"context"
	"strings"
	"testing"

	"budswell/calendar"
)

func TestMailAtOnce(t *testing.T) {
	s := newServer(t, StartTLS)
	n := calendar.Nudge{ID: "one", To: "new@example.org", Title: "Set a new password", Body: "By this link:\n\nhttps://trees.example/password/x\n", Decided: noon}
	if err := s.smtp(StartTLS).Mail(t.Context(), n); err != nil {
		t.Fatal(err)
	}
	got := s.got()
	if len(got) != 1 || !strings.Contains(got[0].parse(t).Header.Get("Subject"), "Set a new password") || got[0].parse(t).Header.Get("To") != "<new@example.org>" {
		t.Errorf("the server got %+v", got)
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.smtp(StartTLS).Mail(ended, n); err == nil || len(s.got()) != 1 {
		t.Errorf("after its time: %v", err)
	}
	if err := (SMTP{Host: "127.0.0.1", Port: unused(t), From: "a@example.org", TLS: NoTLS}).Mail(t.Context(), n); err == nil {
		t.Error("without a server it is mailed")
	}
}
