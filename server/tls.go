package server

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"slices"
	"sync"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
)

// CertificateFiles are in PEM.
type CertificateFiles struct {
	Cert     string // the certificate, then those up to a root; required
	Key      string // its private key; required
	ClientCA string // roots of callers' certificates; "": callers need none
}

// NewTLS is TLS with the certificate of some files, which are read again when they have changed; none is held up or cut off by
// that. Files that can't be read, or don't belong together yet, change nothing: what was read before stays, and the log says why.
func NewTLS(files CertificateFiles, log *slog.Logger) (*tls.Config, error) {
	c := &certificates{files: files, log: log}
	if err := c.read(); err != nil {
		return nil, err
	}
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2"},
		GetConfigForClient: func(*tls.ClientHelloInfo) (*tls.Config, error) { return c.current(), nil }}, nil
}

// lookAgain is how old what is known of the files may be at a handshake.
const lookAgain = time.Second

type certificates struct {
	files CertificateFiles
	log   *slog.Logger

	mu     sync.Mutex
	config *tls.Config
	seen   []fs.FileInfo // of the files when they were last read, well or not
	looked time.Time
}

// current is what a handshake is made with.
func (c *certificates) current() *tls.Config {
	c.mu.Lock()
	defer c.mu.Unlock()
	if time.Since(c.looked) < lookAgain {
		return c.config
	}
	c.looked = time.Now()
	if now := c.stat(); !slices.EqualFunc(c.seen, now, sameFile) {
		if err := c.read(); err != nil {
			c.log.Error("the new certificate can't be used; the one before stays", "error", err.Error())
		} else {
			c.log.Info("the certificate was read again")
		}
	}
	return c.config
}

func (c *certificates) paths() []string {
	paths := []string{c.files.Cert, c.files.Key}
	if c.files.ClientCA != "" {
		paths = append(paths, c.files.ClientCA)
	}
	return paths
}

// stat is nil for files that aren't there.
func (c *certificates) stat() []fs.FileInfo {
	return each(c.paths(), func(path string) fs.FileInfo {
		info, _ := os.Stat(path)
		return info
	})
}

func sameFile(a, b fs.FileInfo) bool {
	if a == nil || b == nil {
		return a == nil && b == nil
	}
	return os.SameFile(a, b) && a.ModTime().Equal(b.ModTime()) && a.Size() == b.Size()
}

// read takes what the files hold, or says what is wrong with them. What is written into them meanwhile is read at the next look.
func (c *certificates) read() error {
	c.seen = c.stat()
	var texts [][]byte
	for _, path := range c.paths() {
		text, err := os.ReadFile(path)
		if err != nil {
			return fmt.Errorf("read %q: %w", path, pathless(err))
		}
		texts = append(texts, text)
	}
	pair, err := tls.X509KeyPair(texts[0], texts[1])
	if err != nil {
		return fmt.Errorf("use the certificate of %q with the key of %q: %w", c.files.Cert, c.files.Key, err)
	}
	if bytes.Contains(texts[0], []byte("PRIVATE KEY")) && c.files.Cert != c.files.Key {
		return fmt.Errorf("read %q: it holds a private key; a certificate's file is one that others may see", c.files.Cert)
	}
	if now := time.Now(); now.After(pair.Leaf.NotAfter) {
		return fmt.Errorf("use the certificate of %q: it ended on %s", c.files.Cert, pair.Leaf.NotAfter.UTC().Format(time.RFC3339))
	}
	config := &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2"}, Certificates: []tls.Certificate{pair}}
	if c.files.ClientCA != "" {
		config.ClientAuth, config.ClientCAs = tls.RequireAndVerifyClientCert, x509.NewCertPool()
		if !config.ClientCAs.AppendCertsFromPEM(texts[2]) {
			return fmt.Errorf("read %q: it holds no certificate in PEM", c.files.ClientCA)
		}
	}
	c.config = config
	return nil
}

// pathless is what is wrong with a file that the message names already.
func pathless(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// encrypted are the options by which Serve speaks TLS.
func (s *Server) encrypted() []grpc.ServerOption {
	if s.config.TLS == nil {
		return nil
	}
	return []grpc.ServerOption{grpc.Creds(credentials.NewTLS(s.config.TLS))}
}
