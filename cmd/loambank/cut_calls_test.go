package main

import (
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// traced are the system calls by which a program changes files, and what is needed to know which.
const traced = "open,openat,creat,close,write,writev,pwrite64,pwritev,pwritev2,ftruncate,truncate,fallocate,copy_file_range,sendfile," +
	"fsync,fdatasync,sync_file_range,rename,renameat,renameat2,link,linkat,symlink,symlinkat,unlink,unlinkat,mkdir,mkdirat,rmdir,accept4"

// call is a system call of a program, from its begin to its end.
type call struct {
	name  string
	args  []string // strings are decoded
	ret   int64
	ended bool // it came back; what a program was doing when it ended did not
}

// turn is the begin or the end of a call: those of several threads lie in each other.
type turn struct {
	*call
	ends bool
}

// traceable finds strace(1). Where it is missing the test is skipped, or, with
// LOAMBANK_TEST_PROGRAMS=require, fails.
func traceable(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("strace")
	if err != nil {
		if os.Getenv("LOAMBANK_TEST_PROGRAMS") == "require" {
			t.Fatalf("%v; leave LOAMBANK_TEST_PROGRAMS unset to skip what needs it", err)
		}
		t.Skip(err)
	}
	return path
}

// trace runs a command with its calls written to a file. The command stays the one that the caller
// started: signals reach it, and waiting for it waits for the whole trace too.
func trace(strace string, cmd *exec.Cmd, file string) {
	args := []string{
		strace, "-D", "-f", "-qq", "-xx", "--seccomp-bpf", "-s", strconv.Itoa(1 << 20), "-e", "signal=none",
		"-e", "trace=" + strings.ReplaceAll(traced, ",", ",?"), "-o", file,
	}
	cmd.Args = append(args, append([]string{cmd.Path}, cmd.Args[1:]...)...)
	cmd.Path = strace
}

// events reads a trace.
func events(t *testing.T, file string) (all []turn) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	begun := map[string]*call{} // by thread
	for line := range strings.Lines(string(text)) {
		thread, rest, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		rest = strings.TrimLeft(rest, " ")
		if strings.HasPrefix(rest, "+++") || strings.HasPrefix(rest, "---") {
			continue
		}
		c := begun[thread]
		resumed := strings.HasPrefix(rest, "<... ")
		if !resumed {
			if c, err = beginning(rest); err != nil {
				t.Fatalf("the trace has %.200q: %v", line, err)
			}
			all = append(all, turn{c, false})
		} else if c == nil {
			t.Fatalf("the trace has %.200q, which nothing began", line)
		}
		if delete(begun, thread); strings.HasSuffix(rest, "<unfinished ...>") {
			begun[thread] = c
			continue
		}
		_, value, _ := strings.Cut(rest[max(0, strings.LastIndex(rest, " = ")):], "= ")
		value, _, _ = strings.Cut(value, " ")
		if c.ret, err = strconv.ParseInt(value, 0, 64); err != nil {
			continue // the program ended within it
		}
		c.ended = true
		all = append(all, turn{c, true})
	}
	return all
}

// beginning reads the begin of a call, such as pwrite64(7, "\x41", 1, 512 <unfinished ...>.
func beginning(text string) (*call, error) {
	name, rest, found := strings.Cut(text, "(")
	if !found {
		return nil, fmt.Errorf("that is no call")
	}
	c := &call{name: name}
	depth, from := 0, 0
	for i, r := range rest {
		switch {
		case r == '{' || r == '[' || r == '(':
			depth++
		case r == '}' || r == ']' || r == ')' && depth > 0:
			depth--
		case depth == 0 && (r == ',' || r == ')' || r == '<'):
			arg, err := argument(strings.TrimSpace(rest[from:i]))
			if err != nil {
				return nil, err
			}
			if c.args, from = append(c.args, arg), i+1; r != ',' {
				return c, nil
			}
		}
	}
	return nil, fmt.Errorf("that call has no end")
}

// argument decodes a string, and leaves what is none.
func argument(text string) (string, error) {
	quoted, is := strings.CutPrefix(text, `"`)
	if !is {
		return text, nil
	}
	quoted, whole := strings.CutSuffix(quoted, `"`)
	if !whole {
		return "", fmt.Errorf("a string is cut short")
	}
	b, err := hex.DecodeString(strings.ReplaceAll(quoted, `\x`, ""))
	return string(b), err
}

// number is an argument as a number.
func (c *call) number(t *testing.T, k int) int64 {
	t.Helper()
	n, err := strconv.ParseInt(c.args[k], 0, 64)
	if err != nil {
		t.Fatalf("%s has %q for its argument %d", c.name, c.args[k], k+1)
	}
	return n
}
