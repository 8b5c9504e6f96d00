package main

import (
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"time"

	"github.com/spf13/cobra"

	"drillwright/rules"
	"drillwright/server"
	"drillwright/server/sqlstore"
)

// serving is what the serve command is told.
type serving struct {
	listen, call   string
	store          string
	staleAfter     time.Duration
	keep           int
	metrics        string
	checkShare     int
	keepMismatches string
	limits         server.Limits
	stopWithin     time.Duration
	settings       *settings
	access
}

func newServe(sh *shell) *cobra.Command {
	f := serving{staleAfter: 15 * time.Minute, keep: 3, checkShare: 1000, limits: server.Limits{}.WithDefaults(), stopWithin: 10 * time.Second}
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Answer over gRPC until interrupted",
		Long: `Serves over gRPC, with health and reflection, until it is interrupted. Prints the address it listens on.

On a loopback address it needs nothing. Other machines can reach it where it listens on an address of theirs, which wants
--tls-cert and --tls-key, and --tokens: each caller then shows a token (drillwright token create), and what its roles don't
allow is refused, from this machine too. Certificates and tokens are read again when they change. Where a proxy takes care of TLS,
--plaintext-behind-proxy says so; what goes between it and the server is health data in the open.

Without --store it serves the built-in edition, and nothing can be published. With --store it serves what the store
says is live, and follows it: a path is a SQLite file, for one server; a postgres:// URL is for several that
share one. An empty store begins with the built-in edition. What is live there from before a stricter reading is not
served: the server says what it lacks, and ends; book upgrade --store adds that. When the store can't be reached, the server goes on for
the time of --stale-after and then answers nothing until the store is back.

One answer in a thousand is given again by the plain way of judging, after the caller has the first. A
difference is a fault: it is logged, and counted in the metric drillwright_check_mismatches_total.

Client data is neither stored nor logged, unless --keep-mismatches names a folder. Then the whole request of
an answer that differs, client profile included, is written there with both answers, so that the fault can be
found: at most 100 files, which only the user who runs the server (and root) can read. Send them to nobody
who may not see the client's health data, and delete the folder when the fault is found.

Every flag may also be given in the environment (--stale-after as DRILLWRIGHT_STALE_AFTER) or in the file that --config
names (stale-after: 10m). The command line goes before the environment, that before the file. --print-config shows what
holds, and where each value comes from.`,
		Example: `  drillwright serve
  drillwright serve --listen 127.0.0.1:0 --call 112
  drillwright serve --store rulebook.db
  drillwright serve --metrics 127.0.0.1:9464 --check-share 100
  drillwright serve --listen 0.0.0.0:7410 --tls-cert cert.pem --tls-key key.pem --tokens tokens
  DRILLWRIGHT_STORE=rulebook.db drillwright serve --config drillwright.yaml --print-config`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := f.settings.read(sh.env); err != nil {
				return misused(cmd, "%w", err)
			}
			if !cmd.Flags().Changed("connection-grace") {
				f.limits.AgeGrace = 0 // it follows the limit of a call
				f.limits = f.limits.WithDefaults()
			}
			if err := f.check(); err != nil {
				return misused(cmd, "%w", err)
			}
			if f.settings.show {
				return f.settings.print(sh.out)
			}
			return f.serve(cmd, sh)
		},
	}
	cmd.Flags().StringVar(&f.listen, "listen", defaultAddress, "listen on `ADDR`; port 0 takes a free one")
	cmd.Flags().StringVar(&f.store, "store", "", "serve what is live in this store, `PATH|URL` (default: the built-in edition)")
	cmd.Flags().Var(span{&f.staleAfter, time.Second}, "stale-after", "go on for so long (`TIME`, such as 10m) when the store can't be reached")
	cmd.Flags().Var(number{&f.keep, 1}, "keep", "keep the last `N` revisions ready for requests that pin one, the live one among them")
	cmd.Flags().StringVar(&f.call, "call", "", "`TEXT` that says whom to call in an emergency (default: your local emergency number)")
	cmd.Flags().StringVar(&f.metrics, "metrics", "", "tell metrics at http://`ADDR`/metrics, for Prometheus (default: nowhere)")
	cmd.Flags().Var(number{&f.checkShare, 0}, "check-share", "check one answer in `N` the plain way; 1 every one, 0 none")
	cmd.Flags().StringVar(&f.keepMismatches, "keep-mismatches", "",
		"write client profiles to `DIR` when a check finds a fault (default: never)")
	f.access.flags(cmd)
	f.limitFlags(cmd.Flags())
	f.settings = addSettings(cmd)
	return cmd
}

// check is every mistake of settings that are right each by itself.
func (f *serving) check() error {
	mistakes := f.access.check(f.listen, f.store, f.settings.given)
	if f.metrics != "" {
		if err := loopback(f.metrics); err != nil {
			mistakes = append(mistakes, fmt.Errorf("%s: %w", f.settings.given("metrics"), err))
		}
	}
	if f.checkShare == 0 && f.keepMismatches != "" {
		mistakes = append(mistakes, fmt.Errorf("%s keeps nothing with %s", f.settings.given("keep-mismatches"), f.settings.given("check-share")))
	}
	return errors.Join(mistakes...)
}

func (f *serving) serve(cmd *cobra.Command, sh *shell) error {
	edition, err := rules.Embedded()
	if err != nil {
		return fmt.Errorf("read the built-in edition: %w", err)
	}
	config := server.Config{Edition: edition, Call: f.call, Log: slog.New(slog.NewTextHandler(sh.err, nil)),
		CheckShare: f.checkShare, KeepMismatches: f.keepMismatches, StaleAfter: f.staleAfter, Keep: f.keep,
		Limits: f.limits, StopWithin: f.stopWithin}
	if f.store != "" {
		store, err := sqlstore.Open(cmd.Context(), sqlstore.Config{URL: f.store})
		if err != nil {
			return fmt.Errorf("open the store: %w", err)
		}
		defer store.Close()
		config.Store = store
	}
	if err := f.access.configure(&config); err != nil {
		return err
	}
	if f.checkShare == 0 {
		config.CheckShare = -1
	}
	if config.Authors, err = authorsProcess(); err != nil {
		return fmt.Errorf("find this program: %w", err)
	}
	listener, err := net.Listen("tcp", f.listen)
	if err != nil {
		return fmt.Errorf("listen on %q: %w", f.listen, err)
	}
	defer listener.Close()
	reported := fmt.Sprintf("listening on %s\n", listener.Addr())
	if f.metrics != "" {
		if config.Metrics, err = net.Listen("tcp", f.metrics); err != nil {
			return fmt.Errorf("listen on %q: %w", f.metrics, err)
		}
		defer config.Metrics.Close()
		reported += fmt.Sprintf("metrics at http://%s/metrics\n", config.Metrics.Addr())
	}
	if os.Getenv("GOGC") == "" {
		config.Adopted = server.TendHeap
	}
	s, err := server.New(config)
	if err != nil {
		return fmt.Errorf("start: %w", outdated(cmd.Context(), err, config.Store, f.store))
	}
	fmt.Fprint(sh.out, reported)
	return s.Serve(cmd.Context(), listener)
}
