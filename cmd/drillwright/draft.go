package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/status"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
	"drillwright/server/clientfile"
)

// drafting is a draft in a folder, and the sample clients that it is looked at with.
type drafting struct {
	folder    string
	clients   string
	onlyThese bool

	files  map[string]authored.File // by the name under which it is sent
	people []*clientfile.File       // in the order in which they are sent
}

func (d *drafting) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&d.clients, "clients", "",
		"ask of the client files of `FOLDER` too; one that is named like a client of the program takes its place")
	cmd.Flags().BoolVar(&d.onlyThese, "only-these", false, "ask of the clients of --clients alone")
}

// read reads the folder, and the clients. Files are sent under their paths in the folder: a draft is the same wherever it
// lies.
func (d *drafting) read(cmd *cobra.Command, folder string) (*v1.Draft, *v1.Samples, error) {
	files, err := readFolder(folder)
	if err != nil {
		return nil, nil, err
	}
	d.folder, d.files = folder, map[string]authored.File{}
	draft := &v1.Draft{}
	for _, f := range files {
		name, err := filepath.Rel(folder, f.Name)
		if err != nil {
			return nil, nil, fmt.Errorf("name %q within %q: %w", f.Name, folder, err)
		}
		name = filepath.ToSlash(name)
		d.files[name] = f
		draft.Files = append(draft.Files, &v1.RulebookFile{Name: name, Text: string(f.Data)})
	}
	samples, err := d.samples(cmd)
	return draft, samples, err
}

// samples reads the clients; nil when none were given. Their mistakes come all at once.
func (d *drafting) samples(cmd *cobra.Command) (*v1.Samples, error) {
	switch {
	case d.onlyThese && d.clients == "":
		return nil, misused(cmd, "--only-these asks of nobody without --clients FOLDER")
	case d.clients == "":
		return nil, nil
	}
	files, err := readFolder(d.clients)
	if err != nil {
		return nil, err
	}
	samples := &v1.Samples{OnlyThese: d.onlyThese}
	var wrong authored.Problems
	for _, f := range files {
		c, err := clientfile.Read(f)
		var problems authored.Problems
		switch {
		case errors.As(err, &problems):
			wrong = append(wrong, problems...)
			continue
		case err != nil:
			return nil, err
		case c.AsOf == "":
			wrong = append(wrong, authored.Problem{At: authored.Pos{Source: &authored.Source{Name: f.Name}}, Message: "as_of is missing",
				Suggestion: "write the day, as_of: YYYY-MM-DD"})
		}
		d.people = append(d.people, c)
		samples.Clients = append(samples.Clients, c.Sample(strings.TrimSuffix(filepath.Base(f.Name), ".yaml")))
	}
	if len(wrong) > 0 {
		return nil, d.counted(wrong, d.clients)
	}
	return samples, nil
}

func (d *drafting) counted(problems authored.Problems, folder string) error {
	return fmt.Errorf("%w\n%s in %s", problems, several(problems.Count(), "problem"), folder)
}

// explain places what a server finds wrong with the draft, or with a sample client, in the files that they came from. Any
// other error comes back as it is.
func (d *drafting) explain(err error) error {
	var problems authored.Problems
	perClient := make([][]client.Violation, len(d.people))
	for _, detail := range status.Convert(err).Details() {
		switch detail := detail.(type) {
		case *v1.RulebookProblems:
			for _, p := range detail.GetProblems() {
				problems = append(problems, d.problem(p))
			}
		case *errdetails.BadRequest:
			for _, v := range detail.GetFieldViolations() {
				if i, field, ok := ofSample(v.GetField()); ok && i < len(perClient) {
					perClient[i] = append(perClient[i], client.Violation{Field: field, Message: v.GetDescription()})
				}
			}
		}
	}
	if len(problems) > 0 {
		return d.counted(problems, d.folder)
	}
	for i, violations := range perClient {
		var found authored.Problems
		if len(violations) > 0 && errors.As(d.people[i].Explain(client.NewInvalid(violations)), &found) {
			problems = append(problems, found...)
		}
	}
	if len(problems) > 0 {
		return d.counted(problems, d.clients)
	}
	return err
}

var sampleField = regexp.MustCompile(`^samples\.clients\[(\d+)\]\.(.+)$`)

// ofSample takes the client out of the path of a field: "samples.clients[3].profile.age_years".
func ofSample(field string) (i int, rest string, ok bool) {
	parts := sampleField.FindStringSubmatch(field)
	if parts == nil {
		return 0, "", false
	}
	i, err := strconv.Atoi(parts[1])
	return i, parts[2], err == nil
}

// problem is a mistake of the draft at its place in the folder, or in a file of the base that the folder lacks.
func (d *drafting) problem(p *v1.RulebookProblem) authored.Problem {
	src := &authored.Source{Name: p.GetFile()}
	if f, ok := d.files[p.GetFile()]; ok {
		src = authored.SourceOf(f)
	}
	at := authored.Pos{Source: src, Line: int(p.GetLine()), Col: int(p.GetColumn())}
	return authored.Problem{At: at, Message: p.GetMessage(), Suggestion: p.GetSuggestion()}
}

// again are the flags that send the same clients another time.
func (d *drafting) again() string {
	var words strings.Builder
	if d.clients != "" {
		words.WriteString(" --clients " + quoted(d.clients))
	}
	if d.onlyThese {
		words.WriteString(" --only-these")
	}
	return words.String()
}

var plainWord = regexp.MustCompile(`^[A-Za-z0-9_./:@%+=,-]+$`)

// quoted is a word as a shell takes it.
func quoted(word string) string {
	if plainWord.MatchString(word) {
		return word
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}
