// Command tieup says what a planetary gear train does: with these elements
// applied, these released and these stuck.
package main

import (
	"os"

	"tieup/cmd/internal/cli"
)

func main() { os.Exit(cli.Main()) }
