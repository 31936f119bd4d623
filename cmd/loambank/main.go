// Command loambank runs the fans of soil heat stores in hoop houses, and answers what its grower
// must know before and after. One file holds one command; what they do lives in the packages.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // a board may have no zone files

	"github.com/alecthomas/kong"
)

// Exit codes, the same for all commands.
const (
	exitGood   = 0
	exitNo     = 1  // the answer is no
	exitUsage  = 64 // the command line is wrong
	exitCannot = 69 // a file, device or lock could not be had
)

// commands is the command line.
type commands struct {
	Run        runCommand        `cmd:"" help:"Run the fans until told to stop."`
	Demo       demoCommand       `cmd:"" help:"Show an invented farm at work in a simulated autumn."`
	Check      checkCommand      `cmd:"" help:"Check a settings file and print what it means."`
	Probes     probesCommand     `cmd:"" help:"List what the board's buses and lines show, and which probe is which."`
	Replay     replayCommand     `cmd:"" help:"Replay recorded readings through the decisions a board would take."`
	Report     reportCommand     `cmd:"" help:"Tell what the fans did, cost and moved: today, this month, this season."`
	Season     seasonCommand     `cmd:"" help:"Let a house live through a year of weather, simulated."`
	Tune       tuneCommand       `cmd:"" help:"Search the settings that suit a house and its climate best."`
	Size       sizeCommand       `cmd:"" help:"Design a store for a house and a climate, with its costs and solar panels."`
	Hand       handCommand       `cmd:"" help:"Give the running daemon an order by hand."`
	Commission commissionCommand `cmd:"" help:"Try every fan, interlock and probe of a house, and keep what is found."`
	Clock      clockCommand      `cmd:"" help:"Say whether a time service has set the board's clock."`
	Safe       safeCommand       `cmd:"" help:"Put every fan of a settings file off."`
	Version    versionCommand    `cmd:"" help:"Print the version."`
}

// world is what commands may touch of their surroundings.
type world struct {
	ctx            context.Context
	stdin          io.Reader
	stdout, stderr io.Writer
	environ        []string
}

// usage is an error of the command line that the parser cannot see.
type usage struct{ error }

// answerNo is an error that means "no" and not "could not". Its text may be empty.
type answerNo struct{ error }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// run is main without the process around it.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) (code int) {
	w := &world{ctx: ctx, stdin: os.Stdin, stdout: stdout, stderr: stderr, environ: os.Environ()}
	type helped struct{ code int }
	defer func() {
		switch p := recover().(type) {
		case nil:
		case helped:
			code = p.code
		default:
			panic(p) // a defect must not pass for a good end
		}
	}()
	parser, err := kong.New(&commands{},
		kong.Name("loambank"),
		kong.Description("Controller and account book for soil heat stores in hoop houses.\n\n"+
			"Exit codes: 0 good, 1 the answer is no, 64 wrong command line, 69 could not."),
		kong.Writers(stdout, stderr), kong.Bind(w),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.Exit(func(code int) { panic(helped{code}) }))
	if err != nil {
		fmt.Fprintln(stderr, "loambank:", err)
		return exitUsage
	}
	command, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(stderr, "loambank: %v; see loambank --help\n", err)
		return exitUsage
	}
	switch err := command.Run(); {
	case err == nil:
		return exitGood
	case errors.As(err, new(usage)):
		fmt.Fprintf(stderr, "loambank: %v; see loambank --help\n", err)
		return exitUsage
	case errors.As(err, new(answerNo)):
		if err.Error() != "" {
			fmt.Fprintln(stderr, err)
		}
		return exitNo
	default:
		fmt.Fprintln(stderr, err)
		return exitCannot
	}
}
