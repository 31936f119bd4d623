package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// board is the emulated board while the steps are carried out.
type board struct {
	base     int // the kernel's number of line 0
	programs map[string]*program
}

// do carries out one step:
//
//	mark NAME                      writes NAME into the trace
//	write PATH TEXT                writes a file
//	copy FROM TO                   copies a file
//	start NAME [KEY=VALUE] COMMAND starts a program under a name
//	signal NAME TERM|KILL|HUP      sends it a signal
//	end NAME                       waits until it has ended; "exit 0", "killed", ...
//	output NAME TEXT               "yes" where it has written TEXT, else "no"
//	held NUMBER                    who holds the line, its direction and level: "loambank out hi"
//	free NUMBER                    direction and level of a line that nobody holds: "out hi"
//	get URL TEXT                   the lines of the page that begin with TEXT
//	wire NUMBER lo|hi              asks the one outside to put the wire of a line at a level
//	pause SECONDS                  waits
//	until SECONDS STEP = ANSWER    repeats a step until its answer is ANSWER; the last answer
//
// A step without an answer answers "done".
func (b *board) do(words []string) (string, error) {
	if len(words) < 2 {
		return "", fmt.Errorf("a step of %d words", len(words))
	}
	verb, args := words[0], words[1:]
	rest := strings.Join(args[1:], " ")
	switch verb {
	case "mark":
		return "done", os.WriteFile(tracing+"trace_marker", []byte("mark "+args[0]), 0o200)
	case "write":
		return "done", os.WriteFile(args[0], []byte(rest+"\n"), 0o644)
	case "copy":
		text, err := os.ReadFile(args[0])
		return "done", errors.Join(err, os.WriteFile(rest, text, 0o644))
	case "start":
		p, err := start(args[1:], "/run/"+args[0]+".output")
		if err != nil {
			return "", err
		}
		b.programs[args[0]] = p
		return "done", nil
	case "signal", "end", "output":
		return b.ask(verb, args[0], rest)
	case "held", "free":
		n, err := strconv.Atoi(args[0])
		if err != nil {
			return "", err
		}
		if verb == "free" {
			return free(strconv.Itoa(b.base + n))
		}
		return held(strconv.Itoa(b.base + n))
	case "get":
		return get(args[0], rest)
	case "wire":
		return wire(args[0], rest)
	case "pause":
		return b.pause(args[0])
	case "until":
		return b.until(args)
	}
	return "", fmt.Errorf("no step %q", verb)
}

func (b *board) ask(verb, name, rest string) (string, error) {
	p := b.programs[name]
	if p == nil {
		return "", fmt.Errorf("no program %q was started", name)
	}
	switch verb {
	case "signal":
		signals := map[string]syscall.Signal{"TERM": syscall.SIGTERM, "KILL": syscall.SIGKILL, "HUP": syscall.SIGHUP}
		return "done", p.command.Process.Signal(signals[rest])
	case "end":
		return p.end(), nil
	}
	if strings.Contains(p.text(), rest) {
		return "yes", nil
	}
	return "no", nil
}

// wire notes in the trace what is asked for, asks for it on the console, and waits until a line is
// typed there.
func wire(number, level string) (string, error) {
	asked := "wire " + number + " " + level
	if err := os.WriteFile(tracing+"trace_marker", []byte(asked), 0o200); err != nil {
		return "", err
	}
	fmt.Println(mark + asked)
	_, err := bufio.NewReader(os.Stdin).ReadString('\n')
	return "done", err
}

func (b *board) pause(text string) (string, error) {
	s, err := strconv.ParseFloat(text, 64)
	time.Sleep(time.Duration(s * float64(time.Second)))
	return "done", err
}

// until takes the answer as found at the end of its time, or as soon as it is the wanted one.
func (b *board) until(words []string) (string, error) {
	s, err := strconv.ParseFloat(words[0], 64)
	step, want, ok := strings.Cut(strings.Join(words[1:], " "), " = ")
	if err != nil || !ok {
		return "", errors.New("until wants SECONDS STEP = ANSWER")
	}
	for end := time.Now().Add(time.Duration(s * float64(time.Second))); ; time.Sleep(50 * time.Millisecond) {
		answer, err := b.do(strings.Fields(step))
		if err == nil && answer == want || time.Now().After(end) {
			return answer, err
		}
	}
}

// held reads who holds a line in the kernel's own list, which troubles nobody.
func held(number string) (string, error) {
	list, err := os.ReadFile("/sys/kernel/debug/gpio")
	if err != nil {
		return "", err
	}
	m := regexp.MustCompile(` gpio-` + number + ` +\(.*\|(\S*) *\) (\S+) +(\S+)`).FindSubmatch(list)
	if m == nil {
		return "nobody", nil
	}
	return fmt.Sprintf("%s %s %s", m[1], m[2], m[3]), nil
}

// free looks at a line through sysfs, which keeps its direction and level. For that moment the line
// is taken: a daemon that starts would find it busy.
func free(number string) (string, error) {
	const tree = "/sys/class/gpio/"
	if err := os.WriteFile(tree+"export", []byte(number), 0o200); err != nil {
		return "", err
	}
	direction, err := os.ReadFile(tree + "gpio" + number + "/direction")
	value, err2 := os.ReadFile(tree + "gpio" + number + "/value")
	err3 := os.WriteFile(tree+"unexport", []byte(number), 0o200)
	level := map[string]string{"0": "lo", "1": "hi"}[strings.TrimSpace(string(value))]
	return fmt.Sprintf("%s %s", strings.TrimSpace(string(direction)), level), errors.Join(err, err2, err3)
}

func get(url, begin string) (string, error) {
	client := http.Client{Timeout: 5 * time.Second}
	r, err := client.Get(url)
	if err != nil {
		return "", err
	}
	defer r.Body.Close()
	page, err := io.ReadAll(r.Body)
	var found []string
	for line := range strings.Lines(string(page)) {
		if strings.HasPrefix(line, begin) {
			found = append(found, strings.TrimSpace(line))
		}
	}
	return strings.Join(found, "; "), err
}
