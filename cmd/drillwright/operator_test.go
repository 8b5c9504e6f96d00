package main

import (
	"bytes"
	"context"
	"encoding/json"
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
	require.Regexp(t, "^drillwright v1.2.0\nsource  4f0c of 2026-11-30T07:00:00Z, and changed since\n"+
		"engine  [0-9.]+\ngo      go1.26.8 linux/amd64\n$", out.String())
	require.Contains(t, printed(t, "version"), "\nsource  ")
}

// wanted finds a program that a test is about; without it the test is skipped, and fails where DRILLWRIGHT_CI is set.
func wanted(t *testing.T, program string) {
	t.Helper()
	_, err := exec.LookPath(program)
	if err != nil && os.Getenv("DRILLWRIGHT_CI") == "" {
		t.Skipf("it needs %s", program)
	}
	require.NoError(t, err)
}

// TestCompletion: bash reads what is printed for it, and asks as our program answers.
func TestCompletion(t *testing.T) {
	for _, shell := range sortedKeys(completions) {
		require.Contains(t, printed(t, "completion "+shell), "__complete", shell)
	}
	require.Contains(t, printed(t, "__complete sub"), "substitute\t")
	require.Contains(t, printed(t, "__complete serve --max-c"), "--max-calls\t")
	require.Contains(t, printed(t, "__complete completion f"), "fish\n")

	wanted(t, "bash")
	file := filepath.Join(t.TempDir(), "completion")
	require.NoError(t, os.WriteFile(file, []byte(printed(t, "completion bash")), 0o600))
	out, err := exec.Command("bash", "-n", file).CombinedOutput()
	require.NoError(t, err, "%s", out)
	// The function that bash calls, with this test's program in the place of ours.
	program, err := os.Executable()
	require.NoError(t, err)
	named := filepath.Join(t.TempDir(), "drillwright")
	require.NoError(t, os.Symlink(program, named))
	ask := exec.Command("bash", "-c", `source "$1"
		_get_comp_words_by_ref() { words=("${COMP_WORDS[@]}"); cword=$COMP_CWORD; cur=${words[cword]}; prev=${words[cword-1]}; }
		_init_completion() { _get_comp_words_by_ref; }
		COMP_WORDS=(drillwright serve --max-c); COMP_CWORD=2; COMP_LINE="drillwright serve --max-c"; COMP_POINT=${#COMP_LINE}; COMP_TYPE=9
		__start_drillwright; printf '%s\n' "${COMPREPLY[@]}"`, "bash", file)
	ask.Env = append(os.Environ(), "PATH="+filepath.Dir(named)+":"+os.Getenv("PATH"))
	out, err = ask.Output() // compopt complains, for no key was pressed
	require.NoError(t, err)
	require.Equal(t, "--max-calls", strings.TrimSpace(string(out)))
}

// TestUnit: the unit of systemd is read without a warning, and shuts the service in.
func TestUnit(t *testing.T) {
	wanted(t, "systemd-analyze")
	unit, err := os.ReadFile("drillwright.service")
	require.NoError(t, err)
	program, err := os.Executable()
	require.NoError(t, err)
	require.Contains(t, string(unit), "ExecStart=/usr/local/bin/drillwright serve\n")
	file := filepath.Join(t.TempDir(), "drillwright.service")
	require.NoError(t, os.WriteFile(file, []byte(strings.ReplaceAll(string(unit), "/usr/local/bin/drillwright", program)), 0o644))
	out, err := exec.Command("systemd-analyze", "verify", "--man=no", file).CombinedOutput()
	require.NoError(t, err, "%s", out)
	require.NotContains(t, string(out), "drillwright.service:", "a warning")
	out, err = exec.Command("systemd-analyze", "security", "--offline=yes", "--no-pager", "--threshold=15", file).CombinedOutput()
	require.NoError(t, err, "more than 1.5 of 10 is open:\n%s", out)
}

// TestContainer: the image holds nothing but the program, which no user of the machine runs, and its lines are command lines of ours.
func TestContainer(t *testing.T) {
	text, err := os.ReadFile("Containerfile")
	require.NoError(t, err)
	said := map[string][]string{}
	for line := range strings.Lines(string(text)) {
		if word, rest, _ := strings.Cut(strings.TrimSpace(line), " "); word != "" && word != "#" {
			said[word] = append(said[word], rest)
		}
	}
	require.Equal(t, []string{"scratch"}, said["FROM"])
	require.Equal(t, []string{"--chmod=0555 drillwright /drillwright"}, said["COPY"])
	require.Regexp(t, "^[1-9][0-9]+:[1-9][0-9]+$", said["USER"][0])
	require.Equal(t, []string{`["/drillwright"]`}, said["ENTRYPOINT"])
	var serve, health []string
	require.NoError(t, json.Unmarshal([]byte(said["CMD"][0]), &serve))
	_, check, ok := strings.Cut(said["HEALTHCHECK"][0], " CMD ")
	require.True(t, ok)
	require.NoError(t, json.Unmarshal([]byte(check), &health))
	require.Equal(t, "/drillwright", health[0])
	for _, line := range [][]string{serve, health[1:]} {
		cmd, rest, err := newRoot(&shell{}).Find(line)
		require.NoError(t, err)
		require.True(t, cmd.Runnable())
		require.NoError(t, cmd.ParseFlags(rest))
	}
}
