package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
)

// settings are the flags of a command that an operator may also give in the environment or in a file. A flag goes before the
// environment, that before the file, that before the default.
type settings struct {
	flags   *pflag.FlagSet
	file    string            // --config
	show    bool              // --print-config
	origins map[string]string // where the value of a flag was read, by its name
}

const (
	configFlag      = "config"
	printConfigFlag = "print-config"
	// variables is how the names of those in the environment begin.
	variables = "DRILLWRIGHT_"
)

// addSettings lets the flags of a command be given elsewhere too; it is called once they are all there.
func addSettings(cmd *cobra.Command) *settings {
	s := &settings{flags: cmd.Flags(), origins: map[string]string{}}
	s.flags.StringVar(&s.file, configFlag, "", "read settings from `FILE`: YAML, with the names of these flags as keys")
	s.flags.BoolVar(&s.show, printConfigFlag, false, "print each setting and where it comes from, secrets masked, and end")
	return s
}

const secretMark = "secret"

// secret marks a flag of which print-config shows only that it is set.
func secret(flags *pflag.FlagSet, name string) {
	flags.Lookup(name).Annotations = map[string][]string{secretMark: nil}
}

// variable is the name of a flag in the environment.
func variable(name string) string {
	return variables + strings.ToUpper(strings.ReplaceAll(name, "-", "_"))
}

// read fills the flags from the file, then from the environment, then once more from the command line, whatever was given there. Its
// error is every mistake in the file and in the environment, also of values that another place overrides.
func (s *settings) read(env func(string) string) error {
	line := map[string]string{}
	for _, f := range s.each() {
		if f.Changed {
			line[f.Name] = f.Value.String()
		}
	}
	mistakes := misspelt(env, s.names())
	if s.file == "" {
		s.file = env(variable(configFlag))
	}
	if s.file != "" {
		mistakes = append(mistakes, s.readFile())
	}
	for _, name := range s.names() {
		if value := env(variable(name)); value != "" {
			if err := s.set(name, value, variable(name)); err != nil {
				mistakes = append(mistakes, fmt.Errorf("%s: %w", variable(name), err))
			}
		}
	}
	for _, name := range s.names() {
		if value, ok := line[name]; ok {
			mistakes = append(mistakes, s.set(name, value, "--"+name))
		}
	}
	return errors.Join(mistakes...)
}

// misspelt are the variables that must be meant for a setting. Others of the same beginning are somebody else's: a platform may
// name the address of a service so.
func misspelt(env func(string) string, names []string) []error {
	known := []string{variable(configFlag), tokenVariable} // the latter is for those who call a server
	for _, name := range names {
		known = append(known, variable(name))
	}
	var mistakes []error
	for _, line := range slices.Sorted(slices.Values(os.Environ())) {
		name, _, _ := strings.Cut(line, "=")
		if !strings.HasPrefix(name, variables) || env(name) == "" || slices.Contains(known, name) {
			continue
		}
		if meant := authored.Misspelt(name, known); meant != "" {
			mistakes = append(mistakes, fmt.Errorf("%s is no setting; did you mean %s?", name, meant))
		}
	}
	return mistakes
}

// set gives a flag its value from a place.
func (s *settings) set(name, value, origin string) error {
	f := s.flags.Lookup(name)
	if err := f.Value.Set(value); err != nil {
		if inner := errors.Unwrap(err); inner != nil {
			err = inner // without the value, which may be a secret
		}
		return fmt.Errorf("%q can't be the value of %s: %w", masked(f, value), name, err)
	}
	f.Changed, s.origins[name] = true, origin
	return nil
}

// readFile takes what the file gives.
func (s *settings) readFile() error {
	file, err := readFile(s.file)
	if err != nil {
		return err
	}
	d := authored.NewDecoder()
	if top := d.Parse(file); top != nil {
		s.keys(d, top)
	}
	var found authored.Problems
	if !errors.As(d.Err(), &found) {
		return nil
	}
	var lines []error
	for _, p := range found { // without the line that it stands in: that may hold a password
		lines = append(lines, fmt.Errorf("%s: %s", p.At, p.Sentence()))
	}
	return errors.Join(lines...)
}

func (s *settings) keys(d *authored.Decoder, top *yaml.Node) {
	for i := 0; i+1 < len(top.Content); i += 2 {
		key, value := top.Content[i], top.Content[i+1]
		name, at := key.Value, d.At(value)
		switch {
		case !slices.Contains(s.names(), name):
			d.Unknown(d.At(key), "setting", name, s.names())
		case value.Tag == "!!null" || value.Kind == yaml.ScalarNode && value.Value == "":
			d.Suggest(d.At(key), "leave the key out for the default", "%s has no value", name)
		case value.Kind != yaml.ScalarNode:
			d.Add(at, "%s is one value", name)
		default:
			if err := s.set(name, value.Value, at.String()); err != nil {
				d.Add(at, "%v", err)
			}
		}
	}
}

// each are the flags that can be given elsewhere, by name.
func (s *settings) each() []*pflag.Flag {
	var flags []*pflag.Flag
	s.flags.VisitAll(func(f *pflag.Flag) { // sorted
		if f.Name != configFlag && f.Name != printConfigFlag && f.Name != "help" {
			flags = append(flags, f)
		}
	})
	return flags
}

func (s *settings) names() []string {
	var names []string
	for _, f := range s.each() {
		names = append(names, f.Name)
	}
	return names
}

// given is a setting as whoever gave it will find it again, for messages.
func (s *settings) given(name string) string {
	f, place := s.flags.Lookup(name), cmp.Or(s.origins[name], "--"+name)
	if place != "--"+name && place != variable(name) {
		place += ": " + name
	}
	return place + " " + masked(f, f.Value.String())
}

// print writes what holds as a file of settings, each with its origin.
func (s *settings) print(w io.Writer) error {
	flags, wide := s.each(), 0
	lines := make([]string, len(flags))
	for i, f := range flags {
		value, err := yaml.Marshal(&yaml.Node{Kind: yaml.ScalarNode, Value: masked(f, f.Value.String())})
		if err != nil {
			return fmt.Errorf("write %s: %w", f.Name, err)
		}
		lines[i] = f.Name + ": " + strings.TrimSpace(string(value))
		if f.Value.String() == "" {
			lines[i] = "# " + f.Name
		}
		wide = max(wide, len(lines[i]))
	}
	for i, f := range flags {
		if _, err := fmt.Fprintf(w, "%-*s  # %s\n", wide, lines[i], cmp.Or(s.origins[f.Name], "default")); err != nil {
			return err
		}
	}
	return nil
}

const hidden = "xxxxx"

var (
	// addressed are the URLs, with // or without, that may hold a password.
	addressed = regexp.MustCompile(`^([A-Za-z][A-Za-z0-9+.-]*:)(//|[^ ]*@)`)
	// inQuery are the parameters of a URL that hold a secret.
	inQuery = regexp.MustCompile(`(?i)(pass|secret|token|key)`)
)

// masked is the value of a flag as it may be shown: a URL without its password; only its scheme where the rest can't be told apart.
func masked(f *pflag.Flag, value string) string {
	if _, ok := f.Annotations[secretMark]; ok && value != "" {
		return hidden
	}
	parts := addressed.FindStringSubmatch(value)
	if parts == nil {
		return value
	}
	u, err := url.Parse(value)
	if err != nil || u.Opaque != "" {
		return parts[1] + hidden
	}
	query := u.Query()
	for name := range query {
		if inQuery.MatchString(name) {
			query.Set(name, hidden)
		}
	}
	u.RawQuery = query.Encode()
	return u.Redacted()
}
