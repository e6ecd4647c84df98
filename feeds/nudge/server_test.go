package nudge

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"io"
	"math/big"
	"net"
	"net/mail"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
)

// server is a real SMTP server on the loopback that keeps what it accepted.
type server struct {
	port  int
	trust *tls.Config // by which a client believes it

	mu       sync.Mutex
	messages []message
	user     string

	will manners
}

// manners say what a server does with what it is told; nil: take it.
type manners struct {
	rcpt  func(to string) error
	data  func() error // before the message is taken
	taken func()       // after, before the client is answered
}

// become changes the server's manners.
func (s *server) become(m manners) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.will = m
}

func (s *server) manners() manners {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.will
}

type message struct {
	from, to string
	raw      []byte
}

func (m message) parse(t *testing.T) *mail.Message {
	t.Helper()
	parsed, err := mail.ReadMessage(bytes.NewReader(m.raw))
	if err != nil {
		t.Fatalf("%v in:\n%s", err, m.raw)
	}
	return parsed
}

func (s *server) got() []message {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]message(nil), s.messages...)
}

// newServer starts a server that speaks in the given way.
func newServer(t *testing.T, way TLS) *server {
	t.Helper()
	s := &server{}
	srv := smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return &dialogue{server: s}, nil }))
	srv.Domain = "localhost"
	srv.ErrorLog = quiet{}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.port = l.Addr().(*net.TCPAddr).Port
	if way != NoTLS {
		own, trust := certificate(t)
		srv.TLSConfig, s.trust = own, trust
		if way == ImplicitTLS {
			l = tls.NewListener(l, own)
		}
	}
	done := make(chan struct{})
	go func() { defer close(done); srv.Serve(l) }()
	t.Cleanup(func() { srv.Close(); <-done })
	return s
}

type quiet struct{}

func (quiet) Printf(string, ...any) {}
func (quiet) Println(...any)        {}

// dialogue is one client's conversation with the server.
type dialogue struct {
	server   *server
	from, to string
}

func (d *dialogue) AuthMechanisms() []string { return []string{sasl.Plain} }

func (d *dialogue) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if password != "open, \"sesame\"" {
			return smtp.ErrAuthFailed
		}
		d.server.mu.Lock()
		d.server.user = user
		d.server.mu.Unlock()
		return nil
	}), nil
}

func (d *dialogue) Mail(from string, _ *smtp.MailOptions) error { d.from = from; return nil }

func (d *dialogue) Rcpt(to string, _ *smtp.RcptOptions) error {
	d.to = to
	if rcpt := d.server.manners().rcpt; rcpt != nil {
		return rcpt(to)
	}
	return nil
}

func (d *dialogue) Data(r io.Reader) error {
	raw, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	will := d.server.manners()
	if will.data != nil {
		if err := will.data(); err != nil {
			return err
		}
	}
	d.server.mu.Lock()
	d.server.messages = append(d.server.messages, message{d.from, d.to, raw})
	d.server.mu.Unlock()
	if will.taken != nil {
		will.taken()
	}
	return nil
}

func (d *dialogue) Reset()        {}
func (d *dialogue) Logout() error { return nil }

// certificate makes a server's certificate for localhost and what a client needs to trust it.
func certificate(t *testing.T) (own, trust *tls.Config) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), DNSNames: []string{"localhost"}, IsCA: true, BasicConstraintsValid: true,
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(cert)
	return &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{der}, PrivateKey: key}}},
		&tls.Config{RootCAs: roots, MinVersion: tls.VersionTLS12}
}
