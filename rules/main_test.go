package rules_test

import (
	"flag"
	"os"
	"testing"
)

// TestMain keeps the random tests short; CI gives -rapid.checks for the longer run.
func TestMain(m *testing.M) {
	_ = flag.Set("rapid.checks", "4")
	flag.Parse()
	if testing.Short() {
		_ = flag.Set("rapid.checks", "20") // of which -short takes a fifth
	}
	os.Exit(m.Run())
}
