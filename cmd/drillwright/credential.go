package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"

	"drillwright/server/token"
)

// tokenVariable holds the token itself: an argument can be seen by everybody on the machine.
const tokenVariable = "DRILLWRIGHT_TOKEN"

// credential is how a command proves who calls a server, and whom it calls.
type credential struct {
	tokenFile string
	tls       bool
	ca        string
	cert, key string
}

func (c *credential) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&c.tokenFile, "token-file", "",
		"show the server the token that stands in `FILE` (default: that in $"+tokenVariable+")")
	cmd.Flags().BoolVar(&c.tls, "tls", false, "speak TLS with the server; beyond this machine it must be so")
	cmd.Flags().StringVar(&c.ca, "ca", "", "trust the roots of `FILE` (PEM) instead of the system's; implies --tls")
	cmd.Flags().StringVar(&c.cert, "client-cert", "", "show the server the certificate of `FILE` (PEM); implies --tls")
	cmd.Flags().StringVar(&c.key, "client-key", "", "its private key, `FILE` (PEM)")
}

func (c *credential) encrypts() bool { return c.tls || c.ca != "" || c.cert != "" }

// options are how to connect to a server.
func (c *credential) options(cmd *cobra.Command, address string) ([]grpc.DialOption, error) {
	near, err := onLoopback(address)
	switch {
	case err != nil:
		return nil, misused(cmd, "--server %s: %w", address, err)
	case !near && !c.encrypts():
		return nil, misused(cmd, "--server %s: other machines are asked over TLS only, for what goes there is health data: "+
			"add --tls, or --ca FILE", address)
	case (c.cert == "") != (c.key == ""):
		return nil, misused(cmd, "--client-cert and --client-key belong together")
	}
	transport := insecure.NewCredentials()
	if c.encrypts() {
		config, err := c.config()
		if err != nil {
			return nil, err
		}
		transport = credentials.NewTLS(config)
	}
	options := []grpc.DialOption{grpc.WithTransportCredentials(transport)}
	secret, err := c.secret(cmd.Context())
	if secret != "" {
		options = append(options, grpc.WithPerRPCCredentials(bearer{secret, !near}))
	}
	return options, err
}

func (c *credential) config() (*tls.Config, error) {
	config := &tls.Config{MinVersion: tls.VersionTLS12}
	if c.ca != "" {
		text, err := os.ReadFile(c.ca)
		if err != nil {
			return nil, fmt.Errorf("read %q: %w", c.ca, cause(err))
		}
		if config.RootCAs = x509.NewCertPool(); !config.RootCAs.AppendCertsFromPEM(text) {
			return nil, fmt.Errorf("read %q: it holds no certificate in PEM", c.ca)
		}
	}
	if c.cert != "" {
		pair, err := tls.LoadX509KeyPair(c.cert, c.key)
		if err != nil {
			return nil, fmt.Errorf("use the certificate of %q with the key of %q: %w", c.cert, c.key, cause(err))
		}
		config.Certificates = []tls.Certificate{pair}
	}
	return config, nil
}

// secret is the token; "" for none. Its error shows nothing of what it read.
func (c *credential) secret(ctx context.Context) (string, error) {
	from, text := "$"+tokenVariable, envOf(ctx)(tokenVariable)
	if c.tokenFile != "" {
		file, err := readFile(c.tokenFile)
		if err != nil {
			return "", err
		}
		from, text = fmt.Sprintf("%q", c.tokenFile), string(file.Data)
	} else if text == "" {
		return "", nil
	}
	text = strings.TrimSpace(text)
	if !token.WellFormed(text) {
		return "", fmt.Errorf("read the token of %s: it holds none; a token is one word, as token create prints it", from)
	}
	return text, nil
}

// again are the flags that show and trust the same another time.
func (c *credential) again() string {
	var words strings.Builder
	if c.tls {
		words.WriteString(" --tls")
	}
	for _, f := range []struct{ flag, file string }{{"--ca", c.ca}, {"--client-cert", c.cert}, {"--client-key", c.key},
		{"--token-file", c.tokenFile}} {
		if f.file != "" {
			words.WriteString(" " + f.flag + " " + quoted(f.file))
		}
	}
	return words.String()
}

// unanswered says why nobody answers.
func (c *credential) unanswered(st *status.Status) string {
	switch _, why, handshake := strings.Cut(st.Message(), "authentication handshake failed: "); {
	case handshake:
		return "TLS: " + strings.TrimSuffix(why, `"`)
	case !c.encrypts() && strings.Contains(st.Message(), "server preface"):
		return "what answers there speaks no gRPC without TLS; with it, add --tls, or --ca FILE"
	}
	return "no server answers there"
}

// bearer puts a token into every call.
type bearer struct {
	secret    string
	encrypted bool // it must be
}

// GetRequestMetadata implements credentials.PerRPCCredentials.
func (b bearer) GetRequestMetadata(context.Context, ...string) (map[string]string, error) {
	return map[string]string{"authorization": "Bearer " + b.secret}, nil
}

// RequireTransportSecurity implements credentials.PerRPCCredentials.
func (b bearer) RequireTransportSecurity() bool { return b.encrypted }

type envKey struct{}

// withEnv hands the variables of the environment to the commands.
func withEnv(ctx context.Context, env func(string) string) context.Context {
	return context.WithValue(ctx, envKey{}, env)
}

func envOf(ctx context.Context) func(string) string {
	if env, ok := ctx.Value(envKey{}).(func(string) string); ok {
		return env
	}
	return func(string) string { return "" }
}
