package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// process is a program that serves metrics.
type process struct {
	command *exec.Cmd
	address string
	log     string
}

func start(address string, env []string, log, name string, args ...string) (*process, error) {
	file, err := os.Create(log)
	if err != nil {
		return nil, err
	}
	defer file.Close() // the program has its own
	p := &process{command: exec.Command(name, args...), address: address, log: log}
	p.command.Env = append(os.Environ(), env...)
	p.command.Stdout, p.command.Stderr = file, file
	return p, p.command.Start()
}

// stop ends it; what it says then is of no interest.
func (p *process) stop() {
	_ = p.command.Process.Signal(syscall.SIGTERM)
	_ = p.command.Wait()
}

// answers waits until a page is there.
func (p *process) answers(ctx context.Context, page string) error {
	for range 300 {
		if _, err := p.get(ctx, page); err == nil {
			return nil
		}
		if err := pause(ctx, 100*time.Millisecond); err != nil {
			return err
		}
	}
	log, err := os.ReadFile(p.log)
	return errors.Join(fmt.Errorf("%s does not answer; it says:\n%s", p.command.Path, log), err)
}

func (p *process) get(ctx context.Context, page string) ([]byte, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+p.address+page, nil)
	if err != nil {
		return nil, err
	}
	request.Header.Set("Accept-Encoding", "identity")
	r, err := http.DefaultClient.Do(request)
	if err != nil {
		return nil, err
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err == nil && r.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s%s: %s", p.address, page, r.Status)
	}
	return text, err
}

// scrape is one page of metrics.
type scrape struct {
	bytes, zipped int
	took          time.Duration
}

func (p *process) scrape(ctx context.Context) (s scrape, err error) {
	began := time.Now()
	text, err := p.get(ctx, "/metrics")
	s.took, s.bytes = time.Since(began), len(text)
	if err != nil {
		return s, err
	}
	var zipped bytes.Buffer
	zip := gzip.NewWriter(&zipped)
	_, err = zip.Write(text)
	err = errors.Join(err, zip.Close())
	s.zipped = zipped.Len()
	return s, err
}

// times returns the median and the longest, in ms.
func times(pages []scrape) string {
	var took []time.Duration
	for _, p := range pages {
		took = append(took, p.took)
	}
	slices.Sort(took)
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	return fmt.Sprintf("%.1f, %.1f", ms(took[len(took)/2]), ms(took[len(took)-1]))
}

// usage is what a process has used up to now: proc(5), status, stat and io.
type usage struct {
	rss, peak int64   // bytes
	cpuS      float64 // user and system
	written   int64   // bytes it caused to be sent to a disk
	said      int64   // bytes it wrote, to files and connections
}

// ticksPerS is the kernel's USER_HZ, the same on every processor Go runs on.
const ticksPerS = 100

func (p *process) usage() (u usage, err error) {
	dir := fmt.Sprintf("/proc/%d/", p.command.Process.Pid)
	status, err1 := keys(dir+"status", "VmRSS", "VmHWM")
	disk, err2 := keys(dir+"io", "write_bytes", "cancelled_write_bytes", "wchar")
	stat, err3 := os.ReadFile(dir + "stat")
	if err := errors.Join(err1, err2, err3); err != nil {
		return u, err
	}
	_, rest, _ := strings.Cut(string(stat), ") ") // the program's name may hold spaces
	fields := strings.Fields(rest)
	for _, field := range fields[11:13] { // 14 and 15 in proc(5), which counts from the number
		n, err := strconv.ParseInt(field, 10, 64)
		if err != nil {
			return u, err
		}
		u.cpuS += float64(n) / ticksPerS
	}
	u.rss, u.peak = status[0]*1024, status[1]*1024
	u.written, u.said = disk[0]-disk[1], disk[2]
	return u, nil
}

// keys reads numbers from lines such as "VmRSS:  1234 kB".
func keys(path string, names ...string) ([]int64, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	found := make([]int64, len(names))
	for i, name := range names {
		_, rest, ok := strings.Cut("\n"+string(text), "\n"+name+":")
		if !ok {
			return nil, fmt.Errorf("%s has no %s", path, name)
		}
		if _, err := fmt.Sscan(rest, &found[i]); err != nil {
			return nil, fmt.Errorf("%s: %s: %w", path, name, err)
		}
	}
	return found, nil
}

func freeAddress() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	return l.Addr().String(), l.Close()
}
