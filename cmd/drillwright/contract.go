package main

import (
	"fmt"

	"github.com/spf13/cobra"

	contract "drillwright/proto"
	v1 "drillwright/proto/drillwright/v1"
)

func newContract(sh *shell) *cobra.Command {
	folder, retryPolicy := "", false
	cmd := &cobra.Command{
		Use:   "contract",
		Short: "Print the contract for programs in any language, or write its files",
		Long: `Prints the contract with its comments as a FileDescriptorSet (binary), which grpcurl -protoset and others read.

With --folder it writes the .proto files with all that they import (google/rpc for the details of errors, google/protobuf,
buf/validate), their licences, and the retry policy as service_config.json. protoc and proto-loader read the folder as it is.
The folder may have been written before: files that were edited since, and others' files of the same names, are never
overwritten. "sha256sum -c ` + sumsFile + `" there says whether it is as it was written.

With --retry-policy it prints that policy alone: a gRPC service config by which clients call again what only reads, when
the server is unavailable, and nothing else.`,
		Example: `  drillwright contract > drillwright.binpb
  drillwright contract --folder contract
  drillwright contract --retry-policy > service_config.json`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case cmd.Flags().Changed("folder") && folder == "":
				return misused(cmd, "--folder: DIR is missing")
			case folder != "":
				names, err := writeContract(folder)
				if err != nil {
					return err
				}
				for _, name := range names {
					fmt.Fprintln(sh.out, name)
				}
				_, err = fmt.Fprintf(sh.out, "%s in %s.\n", several(len(names), "file"), folder)
				return err
			case retryPolicy:
				_, err := fmt.Fprint(sh.out, contract.ServiceConfig)
				return err
			case sh.terminal():
				return misused(cmd, "a descriptor set is nothing to read at a terminal: drillwright contract > drillwright.binpb")
			}
			_, err := sh.out.Write(v1.DescriptorSet())
			return err
		},
	}
	cmd.Flags().StringVar(&folder, "folder", "", "write the .proto files and what belongs to them into `DIR`")
	cmd.Flags().BoolVar(&retryPolicy, "retry-policy", false, "print the retry policy, a gRPC service config in JSON")
	cmd.MarkFlagsMutuallyExclusive("folder", "retry-policy")
	return cmd
}
