// Command measure runs the daemon on simulated houses and prints what it costs: memory, processor
// time, the size and time of a scrape, and what it writes to disk. Beside it another exporter is
// scraped in the same way, as a yardstick. It is for those who work on the daemon and not shipped;
// nothing here is asserted.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"text/tabwriter"
	"time"
)

const (
	farmHouses = 3  // of a farm as there are many
	manyHouses = 50 // of the largest that is thought of
	scrapes    = 41 // of the largest, for a median
)

type options struct {
	daemon, exporter string
	steady           time.Duration // at real speed
	every            time.Duration // between scrapes
	day              time.Duration // accelerated
	speed            float64
	dir              string // for state directories: must lie on a disk
}

func main() {
	var o options
	flag.StringVar(&o.daemon, "daemon", "", "the loambank program")
	flag.StringVar(&o.exporter, "exporter", "", "the program to compare with")
	flag.DurationVar(&o.steady, "steady", time.Minute, "how long to scrape at real speed")
	flag.DurationVar(&o.every, "every", 5*time.Second, "time between two scrapes")
	flag.DurationVar(&o.day, "day", 144*time.Second, "how long to run accelerated")
	flag.Float64Var(&o.speed, "speed", 600, "how much accelerated")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := measure(ctx, o); err != nil {
		fmt.Fprintln(os.Stderr, "measure:", err)
		os.Exit(1)
	}
}

func measure(ctx context.Context, o options) (err error) {
	o.dir, err = os.MkdirTemp("/var/tmp", "loambank-measure")
	if err != nil {
		return err
	}
	defer os.RemoveAll(o.dir)
	table := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', 0)
	for _, part := range []func(context.Context, options, *tabwriter.Writer) error{steady, many, day} {
		if err := part(ctx, o, table); err != nil {
			return err
		}
		if err := table.Flush(); err != nil {
			return err
		}
		fmt.Println()
	}
	return nil
}

// run starts the daemon on a farm of its own and waits until every house has ticked.
func run(ctx context.Context, o options, name string, houses int, more ...string) (*process, error) {
	dir := filepath.Join(o.dir, name)
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, err
	}
	settings := filepath.Join(dir, "farm.toml")
	if err := os.WriteFile(settings, []byte(farm(houses, filepath.Join(dir, "state"))), 0o600); err != nil {
		return nil, err
	}
	address, err := freeAddress()
	if err != nil {
		return nil, err
	}
	args := append([]string{"run", "--config", settings}, more...)
	p, err := start(address, []string{"LOAMBANK_LISTEN=" + address}, filepath.Join(dir, "log"), o.daemon, args...)
	if err != nil {
		return nil, err
	}
	if err := p.answers(ctx, "/readyz"); err != nil {
		p.stop()
		return nil, err
	}
	return p, nil
}

// steady measures both programs while they are scraped at real speed.
func steady(ctx context.Context, o options, table *tabwriter.Writer) error {
	ours, err := run(ctx, o, "steady", farmHouses)
	if err != nil {
		return err
	}
	defer ours.stop()
	address, err := freeAddress()
	if err != nil {
		return err
	}
	theirs, err := start(address, nil, filepath.Join(o.dir, "exporter.log"), o.exporter, "--web.listen-address="+address)
	if err != nil {
		return err
	}
	defer theirs.stop()
	if err := theirs.answers(ctx, "/metrics"); err != nil {
		return err
	}
	both := []*process{ours, theirs}
	var before, after [2]usage
	var pages [2][]scrape
	for i, p := range both {
		if before[i], err = p.usage(); err != nil {
			return err
		}
	}
	for began := time.Now(); time.Since(began) < o.steady; {
		if err := pause(ctx, o.every); err != nil {
			return err
		}
		for i, p := range both {
			page, err := p.scrape(ctx)
			if err != nil {
				return err
			}
			pages[i] = append(pages[i], page)
		}
	}
	for i, p := range both {
		if after[i], err = p.usage(); err != nil {
			return err
		}
	}
	fmt.Fprintf(table, "%v, scraped every %v\tloambank, %d houses\t%s\n", o.steady, o.every, farmHouses, filepath.Base(o.exporter))
	fmt.Fprintf(table, "memory now, MiB RSS\t%.1f\t%.1f\n", mib(after[0].rss), mib(after[1].rss))
	fmt.Fprintf(table, "memory at most, MiB RSS\t%.1f\t%.1f\n", mib(after[0].peak), mib(after[1].peak))
	fmt.Fprintf(table, "processor to start, s\t%.2f\t%.2f\n", before[0].cpuS, before[1].cpuS)
	fmt.Fprintf(table, "processor after that, s\t%.2f\t%.2f\n", after[0].cpuS-before[0].cpuS, after[1].cpuS-before[1].cpuS)
	fmt.Fprintf(table, "scrape, bytes\t%d\t%d\n", pages[0][len(pages[0])-1].bytes, pages[1][len(pages[1])-1].bytes)
	fmt.Fprintf(table, "scrape, median and longest ms\t%s\t%s\n", times(pages[0]), times(pages[1]))
	if after[0].peak > after[1].peak {
		return fmt.Errorf("loambank took %.1f MiB, more than the %.1f of %s", mib(after[0].peak), mib(after[1].peak), filepath.Base(o.exporter))
	}
	return nil
}

// many measures the scrapes of a large farm.
func many(ctx context.Context, o options, table *tabwriter.Writer) error {
	p, err := run(ctx, o, "many", manyHouses)
	if err != nil {
		return err
	}
	defer p.stop()
	var pages []scrape
	for range scrapes {
		page, err := p.scrape(ctx)
		if err != nil {
			return err
		}
		pages = append(pages, page)
	}
	u, err := p.usage()
	if err != nil {
		return err
	}
	fmt.Fprintf(table, "%d scrapes, one after the other\tloambank, %d houses\n", scrapes, manyHouses)
	fmt.Fprintf(table, "memory now, MiB RSS\t%.1f\n", mib(u.rss))
	fmt.Fprintf(table, "scrape, bytes and gzipped\t%d, %d\n", pages[0].bytes, pages[0].zipped)
	fmt.Fprintf(table, "scrape, median and longest ms\t%s\n", times(pages))
	return nil
}

// day measures what an accelerated farm writes.
func day(ctx context.Context, o options, table *tabwriter.Writer) error {
	p, err := run(ctx, o, "day", farmHouses, fmt.Sprintf("--speed=%g", o.speed))
	if err != nil {
		return err
	}
	defer p.stop()
	began := time.Now()
	before, err := p.usage()
	if err != nil {
		return err
	}
	if err := pause(ctx, o.day); err != nil {
		return err
	}
	after, err := p.usage()
	if err != nil {
		return err
	}
	days := time.Since(began).Seconds() * o.speed / 86400
	fmt.Fprintf(table, "%.2f days at %g times the speed\tloambank, %d houses\n", days, o.speed, farmHouses)
	fmt.Fprintf(table, "written to disk, MB a day\t%.2f\n", float64(after.written-before.written)/1e6/days)
	fmt.Fprintf(table, "written by the program, MB a day\t%.2f\n", float64(after.said-before.said)/1e6/days)
	return nil
}

func mib(bytes int64) float64 { return float64(bytes) / (1 << 20) }

func pause(ctx context.Context, d time.Duration) error {
	select {
	case <-time.After(d):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
