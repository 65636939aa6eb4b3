package cli

import (
	"github.com/spf13/cobra"

	"tieup/gearsets"
	"tieup/gearsets/roadtest"
)

func newSchemaCmd() *cobra.Command {
	return &cobra.Command{
		Use: "schema train|sheet",
		Long: `Print the JSON Schema of train files, or of road-test sheets, for editors that
complete keys and check their values by one. Most take its file from a first
line such as: # yaml-language-server: $schema=train.schema.json

A schema knows the form only. What names mean, and what the train does, is
checked by every command that reads the file; tieup check tells it alone.`,
		Example: `  tieup schema train > train.schema.json
  tieup schema sheet > sheet.schema.json`,
		Args: args(1, 1, "which schema? Write: tieup schema train, or: tieup schema sheet",
			"schema takes one word: train or sheet"),
		ValidArgs: []string{"train", "sheet"},
		RunE: func(cmd *cobra.Command, args []string) error {
			var src []byte
			switch args[0] {
			case "train":
				src = gearsets.Schema()
			case "sheet":
				src = roadtest.Schema()
			default:
				return usagef(cmd, "there is no schema %s: write train or sheet", quote(args[0]))
			}
			_, err := cmd.OutOrStdout().Write(src)
			return err
		},
	}
}
