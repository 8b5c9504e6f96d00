package main

import (
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
}

func newServe(sh *shell) *cobra.Command {
	var f serving
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Answer over gRPC on a loopback address until interrupted",
		Long: `Serves over gRPC, with health and reflection, until it is interrupted. Prints the address it listens on.
Other machines can't reach it: TLS and tokens come later.

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
who may not see the client's health data, and delete the folder when the fault is found.`,
		Example: `  drillwright serve
  drillwright serve --listen 127.0.0.1:0 --call 112
  drillwright serve --store rulebook.db
  drillwright serve --metrics 127.0.0.1:9464 --check-share 100`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := f.check(cmd); err != nil {
				return err
			}
			return f.serve(cmd, sh)
		},
	}
	cmd.Flags().StringVar(&f.listen, "listen", "127.0.0.1:7410", "listen on `ADDR`; port 0 takes a free one")
	cmd.Flags().StringVar(&f.store, "store", "", "serve what is live in this store, `PATH|URL` (default: the built-in edition)")
	cmd.Flags().DurationVar(&f.staleAfter, "stale-after", 15*time.Minute,
		"go on for so long (`TIME`, such as 10m) when the store can't be reached")
	cmd.Flags().IntVar(&f.keep, "keep", 3, "keep the last `N` revisions ready for requests that pin one, the live one among them")
	cmd.Flags().StringVar(&f.call, "call", "", "`TEXT` that says whom to call in an emergency (default: your local emergency number)")
	cmd.Flags().StringVar(&f.metrics, "metrics", "", "tell metrics at http://`ADDR`/metrics, for Prometheus (default: nowhere)")
	cmd.Flags().IntVar(&f.checkShare, "check-share", 1000, "check one answer in `N` the plain way; 1 every one, 0 none")
	cmd.Flags().StringVar(&f.keepMismatches, "keep-mismatches", "",
		"write client profiles to `DIR` when a check finds a fault (default: never)")
	return cmd
}

func (f *serving) check(cmd *cobra.Command) error {
	if err := loopback(f.listen); err != nil {
		return misused(cmd, "--listen %s: %w", f.listen, err)
	}
	if f.metrics != "" {
		if err := loopback(f.metrics); err != nil {
			return misused(cmd, "--metrics %s: %w", f.metrics, err)
		}
	}
	switch {
	case f.staleAfter <= 0:
		return misused(cmd, "--stale-after %v: it must be more than nothing", f.staleAfter)
	case f.keep < 1:
		return misused(cmd, "--keep %d: it must be 1 or more", f.keep)
	case f.checkShare < 0:
		return misused(cmd, "--check-share %d: it must be 0 or more", f.checkShare)
	case f.checkShare == 0 && f.keepMismatches != "":
		return misused(cmd, "--keep-mismatches keeps nothing with --check-share 0")
	}
	return nil
}

func (f *serving) serve(cmd *cobra.Command, sh *shell) error {
	edition, err := rules.Embedded()
	if err != nil {
		return fmt.Errorf("read the built-in edition: %w", err)
	}
	config := server.Config{Edition: edition, Call: f.call, Log: slog.New(slog.NewTextHandler(sh.err, nil)),
		CheckShare: f.checkShare, KeepMismatches: f.keepMismatches, StaleAfter: f.staleAfter, Keep: f.keep}
	if f.store != "" {
		store, err := sqlstore.Open(cmd.Context(), sqlstore.Config{URL: f.store})
		if err != nil {
			return fmt.Errorf("open the store: %w", err)
		}
		defer store.Close()
		config.Store = store
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
