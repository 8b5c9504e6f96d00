package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// printed is what a command line prints.
func printed(t *testing.T, line string) string {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, run(context.Background(), strings.Fields(line), nil, &out, &out, func(string) string { return "" }))
	return out.String()
}

// TestLicencesOfWhatIsLinked: every module that is linked into the program is listed, and its licence stands there whole.
func TestLicencesOfWhatIsLinked(t *testing.T) {
	lines, err := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}{{end}}{{end}}",
		".").Output()
	require.NoError(t, err)
	told, modules := printed(t, "licences"), map[string]string{}
	for line := range strings.Lines(string(lines)) {
		if module, dir, ok := strings.Cut(strings.TrimSpace(line), "\t"); ok {
			modules[module] = dir
		}
	}
	require.Greater(t, len(modules), 30)
	for module, dir := range modules {
		require.Contains(t, told, "\n  "+module+"\n", "go generate ./cmd/drillwright lists it")
		found, err := filepath.Glob(filepath.Join(dir, "LICENSE*"))
		require.NoError(t, err)
		require.NotEmpty(t, found, module)
		for _, file := range found {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			require.Contains(t, told, "\n"+module+": "+filepath.Base(file)+"\n")
			require.True(t, strings.Contains(told, "\n\n"+strings.Trim(string(text), "\n")+"\n"), "%s whole", file)
		}
	}
}

func TestVersionOfABuild(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, printVersion(&out, &debug.BuildInfo{GoVersion: "go1.26.8", Main: debug.Module{Version: "v1.2.0"},
		Settings: []debug.BuildSetting{{Key: "GOOS", Value: "linux"}, {Key: "GOARCH", Value: "amd64"}, {Key: "vcs.revision", Value: "4f0c"},
			{Key: "vcs.time", Value: "2026-11-30T07:00:00Z"}, {Key: "vcs.modified", Value: "true"}}}))
	require.Regexp(t, "^drillwright v1.2.0\nsource  4f0c of 2026-11-30T07:00:00Z, and changed since\nengine  [0-9.]+\ngo      go1.26.8 linux/amd64\n$",
		out.String())
	require.Contains(t, printed(t, "version"), "\nsource  ")
}

// TestCompletion: what is printed is a script of its shell, and bash completes by it.
func TestCompletion(t *testing.T) {
	for shell, check := range map[string]string{"bash": "-n", "zsh": "-n", "fish": "--no-execute"} {
		t.Run(shell, func(t *testing.T) {
			script := printed(t, "completion "+shell)
			require.Contains(t, script, "__complete")
			program, err := exec.LookPath(shell)
			if err != nil {
				t.Skipf("%s isn't here", shell)
			}
			file := filepath.Join(t.TempDir(), "completion")
			require.NoError(t, os.WriteFile(file, []byte(script), 0o600))
			out, err := exec.Command(program, check, file).CombinedOutput()
			require.NoError(t, err, "%s", out)
		})
	}
	require.Contains(t, printed(t, "__complete sub"), "substitute\t")
	require.Contains(t, printed(t, "__complete serve --max-c"), "--max-calls\t")
	require.Contains(t, printed(t, "__complete completion f"), "fish\n")
}
