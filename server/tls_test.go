package server

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"log/slog"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/status"
)

// authority signs certificates for localhost.
type authority struct {
	t    *testing.T
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
	pem  []byte
}

func newAuthority(t *testing.T) *authority {
	a := &authority{t: t}
	var err error
	a.key, err = ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	as := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "rowing club"}, NotBefore: time.Now().Add(-time.Hour),
		NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, as, as, a.key.Public(), a.key)
	require.NoError(t, err)
	a.cert, err = x509.ParseCertificate(der)
	require.NoError(t, err)
	a.pem = pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	return a
}

// sign makes a certificate that is good for a time, and its key, in PEM.
func (a *authority) sign(serial int64, lasts time.Duration) (cert, key []byte) {
	a.t.Helper()
	made, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(a.t, err)
	as := &x509.Certificate{SerialNumber: big.NewInt(serial), DNSNames: []string{"localhost"}, NotBefore: time.Now().Add(-time.Hour),
		NotAfter:    time.Now().Add(lasts),
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}}
	der, err := x509.CreateCertificate(rand.Reader, as, a.cert, made.Public(), a.key)
	require.NoError(a.t, err)
	secret, err := x509.MarshalPKCS8PrivateKey(made)
	require.NoError(a.t, err)
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})
}

func (a *authority) pool() *x509.CertPool {
	pool := x509.NewCertPool()
	pool.AddCert(a.cert)
	return pool
}

// sharedLog is a log that may be read while it is written.
type sharedLog struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *sharedLog) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *sharedLog) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// overTLS is a server that speaks TLS.
type overTLS struct {
	t     *testing.T
	files CertificateFiles
	log   sharedLog
	port  string
}

func (o *overTLS) write(path string, text []byte) {
	o.t.Helper()
	require.NoError(o.t, os.WriteFile(path+".new", text, 0o600))
	require.NoError(o.t, os.Rename(path+".new", path))
}

func serveTLS(t *testing.T, a *authority, clientCA []byte) *overTLS {
	folder := t.TempDir()
	o := &overTLS{t: t, files: CertificateFiles{Cert: filepath.Join(folder, "cert.pem"), Key: filepath.Join(folder, "key.pem")}}
	cert, key := a.sign(7, time.Hour)
	o.write(o.files.Cert, cert)
	o.write(o.files.Key, key)
	if clientCA != nil {
		o.files.ClientCA = filepath.Join(folder, "ca.pem")
		o.write(o.files.ClientCA, clientCA)
	}
	config := Config{Edition: embedded(), CheckShare: -1, Log: slog.New(slog.NewTextHandler(&o.log, nil))}
	var err error
	config.TLS, err = NewTLS(o.files, config.Log)
	require.NoError(t, err)
	s, err := New(config)
	require.NoError(t, err)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	_, o.port, err = net.SplitHostPort(listener.Addr().String())
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, listener) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-ended)
	})
	return o
}

// connect connects anew; the caller's transport is given.
func (o *overTLS) connect(transport credentials.TransportCredentials) grpc_health_v1.HealthClient {
	o.t.Helper()
	conn, err := grpc.NewClient("localhost:"+o.port, grpc.WithTransportCredentials(transport))
	require.NoError(o.t, err)
	o.t.Cleanup(func() { conn.Close() })
	return grpc_health_v1.NewHealthClient(conn)
}

func ask(c grpc_health_v1.HealthClient) codes.Code {
	_, err := c.Check(context.Background(), &grpc_health_v1.HealthCheckRequest{})
	return status.Code(err)
}

// serial is that of the certificate that a new caller sees.
func (o *overTLS) serial(a *authority) int64 {
	o.t.Helper()
	conn, err := tls.Dial("tcp", "localhost:"+o.port, &tls.Config{RootCAs: a.pool(), NextProtos: []string{"h2"}})
	require.NoError(o.t, err)
	defer conn.Close()
	return conn.ConnectionState().PeerCertificates[0].SerialNumber.Int64()
}

func TestTLS(t *testing.T) {
	a, other := newAuthority(t), newAuthority(t)
	o := serveTLS(t, a, nil)
	good := o.connect(credentials.NewTLS(&tls.Config{RootCAs: a.pool()}))
	require.Equal(t, codes.OK, ask(good))
	require.Equal(t, codes.Unavailable, ask(o.connect(insecure.NewCredentials())), "without TLS")
	require.Equal(t, codes.Unavailable, ask(o.connect(credentials.NewTLS(&tls.Config{RootCAs: other.pool()}))), "a server that isn't trusted")
	for version, want := range map[uint16]bool{tls.VersionTLS10: false, tls.VersionTLS11: false, tls.VersionTLS12: true,
		tls.VersionTLS13: true} {
		conn, err := tls.Dial("tcp", "localhost:"+o.port, &tls.Config{RootCAs: a.pool(), NextProtos: []string{"h2"}, MinVersion: version,
			MaxVersion: version})
		require.Equal(t, want, err == nil, "%s: %v", tls.VersionName(version), err)
		if err == nil {
			conn.Close()
		}
	}
	conn, err := tls.Dial("tcp", "localhost:"+o.port, &tls.Config{RootCAs: a.pool(), NextProtos: []string{"h2"}})
	require.NoError(t, err)
	require.Equal(t, uint16(tls.VersionTLS13), conn.ConnectionState().Version, "what both prefer")
	conn.Close()
}

// Certificates are swapped while calls go on; what can't be used is said once, and leaves what was there.
func TestCertificatesChangeWhileServing(t *testing.T) {
	a := newAuthority(t)
	o := serveTLS(t, a, nil)
	old := o.connect(credentials.NewTLS(&tls.Config{RootCAs: a.pool()}))
	require.Equal(t, codes.OK, ask(old))
	require.Equal(t, int64(7), o.serial(a))
	becomes := func(serial int64) {
		t.Helper()
		require.Eventually(t, func() bool { return o.serial(a) == serial }, 10*time.Second, 20*time.Millisecond)
	}
	says := func(text string) {
		t.Helper()
		require.Eventually(t, func() bool {
			require.NotZero(t, o.serial(a))
			return bytes.Contains([]byte(o.log.String()), []byte(text))
		}, 10*time.Second, 20*time.Millisecond, text)
	}
	cert, key := a.sign(8, time.Hour)
	o.write(o.files.Cert, cert)
	o.write(o.files.Key, key)
	becomes(8)
	require.Equal(t, codes.OK, ask(old), "a connection stays")

	cert, key = a.sign(9, time.Hour)
	o.write(o.files.Cert, cert) // its key comes later
	says("private key does not match")
	require.Equal(t, int64(8), o.serial(a))
	o.write(o.files.Key, key)
	becomes(9)

	o.write(o.files.Cert, []byte("half a certif"))
	says("find any PEM data")
	require.NoError(t, os.Remove(o.files.Key))
	says("no such file")
	cert, key = a.sign(10, -time.Minute)
	o.write(o.files.Cert, cert)
	o.write(o.files.Key, key)
	says("it ended on")
	require.Equal(t, int64(9), o.serial(a))
	cert, key = a.sign(11, time.Hour)
	o.write(o.files.Cert, cert)
	o.write(o.files.Key, key)
	becomes(11)
	require.Equal(t, codes.OK, ask(old))
	require.Equal(t, 1, bytes.Count([]byte(o.log.String()), []byte("it ended on")), "said once")
	require.NotContains(t, o.log.String(), "PRIVATE")
}

func TestCallersWithCertificates(t *testing.T) {
	a, theirs, other := newAuthority(t), newAuthority(t), newAuthority(t)
	o := serveTLS(t, a, theirs.pem)
	by := func(signed *authority) credentials.TransportCredentials {
		config := &tls.Config{RootCAs: a.pool()}
		if signed != nil {
			pair, err := tls.X509KeyPair(signed.sign(3, time.Hour))
			require.NoError(t, err)
			config.Certificates = []tls.Certificate{pair}
		}
		return credentials.NewTLS(config)
	}
	require.Equal(t, codes.OK, ask(o.connect(by(theirs))))
	require.Equal(t, codes.Unavailable, ask(o.connect(by(nil))), "none")
	require.Equal(t, codes.Unavailable, ask(o.connect(by(other))), "of somebody else")
	require.Equal(t, codes.Unavailable, ask(o.connect(insecure.NewCredentials())), "without TLS")

	o.write(o.files.ClientCA, other.pem)
	require.Eventually(t, func() bool { return ask(o.connect(by(other))) == codes.OK }, 10*time.Second, 50*time.Millisecond)
	require.Equal(t, codes.Unavailable, ask(o.connect(by(theirs))), "who isn't trusted any more")
}

func TestTLSSaysWhatIsWrongAtStart(t *testing.T) {
	a, folder := newAuthority(t), t.TempDir()
	cert, key := a.sign(1, time.Hour)
	ended, endedKey := a.sign(2, -time.Minute)
	file := func(name string, text []byte) string {
		path := filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(path, text, 0o600))
		return path
	}
	good, goodKey := file("cert", cert), file("key", key)
	for name, c := range map[string]struct {
		files CertificateFiles
		says  string
	}{
		"no file":            {CertificateFiles{Cert: filepath.Join(folder, "none"), Key: goodKey}, "no such file"},
		"a key of another":   {CertificateFiles{Cert: good, Key: file("other", endedKey)}, "private key does not match"},
		"the wrong way":      {CertificateFiles{Cert: goodKey, Key: good}, "use the certificate of"},
		"a key in the open":  {CertificateFiles{Cert: file("both", append(cert, key...)), Key: goodKey}, "it holds a private key"},
		"one that has ended": {CertificateFiles{Cert: file("ended", ended), Key: file("ended-key", endedKey)}, "it ended on"},
		"no roots":           {CertificateFiles{Cert: good, Key: goodKey, ClientCA: goodKey}, "it holds no certificate in PEM"},
	} {
		_, err := NewTLS(c.files, slog.New(slog.DiscardHandler))
		require.ErrorContains(t, err, c.says, name)
		require.NotContains(t, err.Error(), "BEGIN", name)
	}
}

// What an operator said in so many words stands where whoever watches over the server looks.
func TestHealthRepeatsPlaintext(t *testing.T) {
	for _, plaintext := range []bool{false, true} {
		s, err := New(Config{Plaintext: plaintext})
		require.NoError(t, err)
		list, err := s.health.List(context.Background(), &grpc_health_v1.HealthListRequest{})
		require.NoError(t, err)
		_, told := list.GetStatuses()[plaintextHealth]
		require.Equal(t, plaintext, told)
	}
}
