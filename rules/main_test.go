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
	os.Exit(m.Run())
}
