package main

import (
	"github.com/spf13/cobra"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server/clientfile"
	"drillwright/server/text"
)

// asking is what the commands about a client share.
type asking struct {
	target
	format
	client string
	asOf   string
	noDay  error // what is said when nothing is wrong but that nobody gave the day; nil when somebody did
}

func (a *asking) flags(cmd *cobra.Command) *cobra.Command {
	cmd.Flags().StringVar(&a.client, "client", "", "the client's `FILE`, or - for standard input (required)")
	cmd.Flags().StringVar(&a.asOf, "as-of", "", "today's `DATE`, YYYY-MM-DD, where the file has no as_of")
	a.target.flags(cmd)
	a.format.flags(cmd)
	return cmd
}

// flagsAndDraft are those of the questions that a draft can answer too.
func (a *asking) flagsAndDraft(cmd *cobra.Command) *cobra.Command {
	a.flags(cmd)
	a.draftFlag(cmd)
	return cmd
}

// taken is what others use at the moment.
type taken struct {
	kit, stations []string
}

func (t *taken) flags(cmd *cobra.Command) {
	cmd.Flags().StringSliceVar(&t.kit, "kit-taken", nil, "ids of the `KIT` in use by others, with commas")
	cmd.Flags().StringSliceVar(&t.stations, "stations-taken", nil, "ids of the `STATIONS` in use by others, with commas")
}

// view is how much of the reasons is wanted.
type view struct{ choice }

func (v *view) flags(cmd *cobra.Command) {
	v.choice = choice{"", []string{"basic", "reasons"}}
	cmd.Flags().Var(v, "view", "without the reasons or with them: `basic|reasons` (default: reasons as text, basic as JSON)")
}

// in is the view on the wire. A person reads reasons unless told otherwise; a program gets the service's default.
func (v *view) in(f *format) v1.View {
	switch {
	case v.value == "reasons", v.value == "" && f.value == "text":
		return v1.View_REASONS
	case v.value == "basic":
		return v1.View_BASIC
	default:
		return v1.View_VIEW_UNSPECIFIED
	}
}

// answer reads the client file, asks, and prints. What the service finds wrong with the profile is shown at its
// place in the file.
func answer[R proto.Message](a *asking, sh *shell, cmd *cobra.Command,
	ask func(v1.SelectionServiceClient, *clientfile.File) (R, error), render func(*text.Page, R)) error {
	file, err := a.read(sh, cmd)
	if err != nil {
		return err
	}
	conn, stop, err := a.connect(cmd)
	if err != nil {
		return err
	}
	defer stop()
	r, err := ask(v1.NewSelectionServiceClient(conn), file)
	if err != nil {
		return a.refused(file, err)
	}
	return a.print(sh, r, func(p *text.Page) { render(p, r) })
}

// refused is why a question wasn't answered: everything that is wrong with the client, at its place in the file, and with the
// question. Where only the day is missing, the command line lacks it.
func (a *asking) refused(file *clientfile.File, err error) error {
	if a.noDay != nil {
		for _, d := range status.Convert(err).Details() {
			if bad, ok := d.(*errdetails.BadRequest); ok && len(bad.GetFieldViolations()) == 1 {
				return a.noDay
			}
		}
	}
	return a.explained(file.Explain(err))
}

// read reads the client file and settles the day. Without one the question is asked nevertheless: the answer tells whatever
// else is wrong as well.
func (a *asking) read(sh *shell, cmd *cobra.Command) (*clientfile.File, error) {
	if a.client == "" {
		return nil, misused(cmd, "--client FILE is missing")
	}
	raw, err := sh.readFile(a.client)
	if err != nil {
		return nil, err
	}
	file, err := clientfile.Read(raw)
	if err != nil {
		return nil, err
	}
	switch {
	case a.asOf == "" && file.AsOf == "":
		a.noDay = misused(cmd, "%s has no as_of: give the day with --as-of YYYY-MM-DD", raw.Name)
	case a.asOf != "" && file.AsOf != "" && a.asOf != file.AsOf:
		return nil, misused(cmd, "%s has as_of: %s, and --as-of says %s", raw.Name, file.AsOf, a.asOf)
	case file.AsOf == "":
		file.AsOf = a.asOf
	}
	return file, nil
}
