package nudge

import (
	"context"
	"strings"
	"testing"
)

func TestMailAtOnce(t *testing.T) {
	s := newServer(t, StartTLS)
	send := func(ctx context.Context, smtp SMTP) error {
		return smtp.Mail(ctx, "one", "new@example.org", "Set a new password", "By this link:\n\nhttps://trees.example/password/x\n", noon)
	}
	if err := send(t.Context(), s.smtp(StartTLS)); err != nil {
		t.Fatal(err)
	}
	got := s.got()
	if len(got) != 1 || !strings.Contains(got[0].parse(t).Header.Get("Subject"), "Set a new password") || got[0].parse(t).Header.Get("To") != "<new@example.org>" {
		t.Errorf("the server got %+v", got)
	}
	if head := got[0].parse(t).Header; head.Get("Message-Id") != "<one@budswell.example>" {
		t.Errorf("Message-ID %q", head.Get("Message-Id"))
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if err := send(ended, s.smtp(StartTLS)); err == nil || len(s.got()) != 1 {
		t.Errorf("after its time: %v", err)
	}
	if err := send(t.Context(), SMTP{Host: "127.0.0.1", Port: unused(t), From: "a@example.org", TLS: NoTLS}); err == nil {
		t.Error("without a server it is mailed")
	}
}
