// Command putback is a voice companion for taking machines apart and putting
// them back together right. It runs on this computer alone.
//
// This file holds the command tree; each command has a file of its own. The
// rooms (audio, speech, intent, jobs, board) know nothing of each other:
// package main is the only place that knows all.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
)

// version is stamped by scripts/setup; see the version command.
var version = ""

func main() { os.Exit(run()) }

// errUsage marks a call that was worded wrongly: exit code 2.
type errUsage struct{ error }

func (e errUsage) Unwrap() error { return e.error }

// run carries out the command line and returns the exit code: 0 done, 1 the
// request failed, 2 wrong usage.
func run() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	root := rootCommand()
	err := root.ExecuteContext(ctx)
	if err == nil {
		return 0
	}
	var quiet errReported
	if !errors.As(err, &quiet) {
		fmt.Fprintln(os.Stderr, "putback: "+err.Error())
	}
	var usage errUsage
	if errors.As(err, &usage) || strings.HasPrefix(err.Error(), "unknown command") {
		fmt.Fprintln(os.Stderr, "putback: see `putback --help`, or `putback COMMAND --help` for an example")
		return 2
	}
	return 1
}

// errReported is an error whose lines were printed already.
type errReported struct{ error }

func rootCommand() *cobra.Command {
	root := &cobra.Command{
		Use:   "putback",
		Short: "a voice companion for taking machines apart and putting them back together right",
		Long: `Putback listens at the bench, keeps the record of what came off and what went
back, does the arithmetic, answers aloud, and objects when a figure cannot be
right. It runs on this computer alone and sends nothing anywhere.

Every torque it computes is a guide figure: the maker's manual decides.`,
		Example: `  putback type --job cover.putback --sheet boat-engine.yaml
  putback listen --job cover.putback
  putback ask "66 inch pounds in newton metres"`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       versionText(),
	}
	root.SetVersionTemplate("putback {{.Version}}\n")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return errUsage{err} })
	root.AddCommand(
		listenCommand(), typeCommand(), hearCommand(), askCommand(), checkCommand(),
		statusCommand(), reportCommand(), exportCommand(), importCommand(), restoreCommand(), historyCommand(),
		boardCommand(), demoCommand(), selftestCommand(), modelsCommand(), manCommand(), versionCommand(),
	)
	return root
}

// exactly is cobra.ExactArgs with our exit code for wrong usage.
func exactly(n int) cobra.PositionalArgs { return usageArgs(cobra.ExactArgs(n)) }

// atLeast is cobra.MinimumNArgs with our exit code for wrong usage.
func atLeast(n int) cobra.PositionalArgs { return usageArgs(cobra.MinimumNArgs(n)) }

func usageArgs(check cobra.PositionalArgs) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if err := check(c, args); err != nil {
			return errUsage{fmt.Errorf("%s: %w; for example:\n%s", c.Name(), err, c.Example)}
		}
		return nil
	}
}

// versionText names the version and the source it was built from.
func versionText() string {
	text := version
	if text == "" {
		text = "built from a work tree"
	}
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" && len(s.Value) >= 12 {
				text += " (" + s.Value[:12] + ")"
			}
		}
		text += ", " + info.GoVersion
	}
	return text
}

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "print the version",
		Example: "  putback version",
		Args:    exactly(0),
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(c.OutOrStdout(), "putback "+versionText())
			return err
		},
	}
}
