package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"drillwright/server"
	"drillwright/server/token"
)

// access is how a server is reached, and by whom.
type access struct {
	files     server.CertificateFiles
	tokens    string
	plaintext bool
}

// inStore is the value of --tokens that means those in the store.
const inStore = "store"

func (a *access) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&a.files.Cert, "tls-cert", "", "speak TLS with the certificate of `FILE` (PEM, those up to a root behind it)")
	cmd.Flags().StringVar(&a.files.Key, "tls-key", "", "and its private key of `FILE` (PEM)")
	cmd.Flags().StringVar(&a.files.ClientCA, "tls-client-ca", "", "let in only callers with a certificate from a root of `FILE` (PEM)")
	cmd.Flags().StringVar(&a.tokens, "tokens", "",
		"let in only callers with a token of `FILE|store`: of a file that token create writes, or those in a PostgreSQL store")
	cmd.Flags().BoolVar(&a.plaintext, "plaintext-behind-proxy", false,
		"let other machines call without TLS, because a proxy before this server speaks it")
}

// check is everything that is wrong with how the server would be reached. given says where a setting stands, and what it is.
func (a *access) check(listen, store string, given func(setting string) string) (wrong []error) {
	near, err := onLoopback(listen)
	if err != nil {
		return []error{fmt.Errorf("%s: %w", given("listen"), err)}
	}
	is := func(bad bool, format string, args ...any) {
		if bad {
			wrong = append(wrong, fmt.Errorf(format, args...))
		}
	}
	encrypted := a.files.Cert != "" || a.files.Key != ""
	is(encrypted && (a.files.Cert == "" || a.files.Key == ""), "--tls-cert and --tls-key belong together")
	is(!encrypted && a.files.ClientCA != "", "--tls-client-ca wants --tls-cert and --tls-key")
	is(encrypted && a.plaintext, "--plaintext-behind-proxy contradicts --tls-cert")
	is(!near && !encrypted && !a.plaintext, "%s: other machines can reach it, and what they send is health data: give --tls-cert "+
		"and --tls-key (or --plaintext-behind-proxy, where a proxy speaks TLS)", given("listen"))
	is((!near || a.plaintext) && a.tokens == "", "--tokens is missing: without it everybody who reaches the server is let in")
	is(a.tokens == inStore && !postgres(store), "--tokens store wants a PostgreSQL store; else give --tokens FILE")
	return wrong
}

// postgres is whether several programs can have the store open.
func postgres(store string) bool {
	return strings.HasPrefix(store, "postgres://") || strings.HasPrefix(store, "postgresql://")
}

// configure makes the server reached so. The log says how, where that isn't as on a machine of one's own.
func (a *access) configure(config *server.Config) error {
	if a.files.Cert != "" {
		var err error
		if config.TLS, err = server.NewTLS(a.files, config.Log); err != nil {
			return fmt.Errorf("speak TLS: %w", err)
		}
		config.Log.Info("TLS", "certificate", a.files.Cert, "callers_need_certificates", a.files.ClientCA != "")
	}
	if config.Plaintext = a.plaintext; a.plaintext {
		config.Log.Warn("other machines may call without TLS, as --plaintext-behind-proxy says: what goes between the proxy and this " +
			"server is health data in the open")
	}
	switch a.tokens {
	case "":
		return nil
	case inStore:
		config.Tokens = config.Store.Tokens
	default:
		file, err := token.OpenFile(a.tokens)
		if err != nil {
			return err
		}
		config.Tokens = func(context.Context) ([]token.Token, error) { return file.Read() }
	}
	config.Log.Info("every caller needs a token, from this machine too", "tokens", a.tokens)
	return nil
}
