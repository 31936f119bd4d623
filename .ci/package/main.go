// Command package builds the Debian packages: the program for each board, its service, its user, the
// rules of its devices, an example farm, a manual, and what the licences of its parts ask for.
//
//	go -C .ci/package run . -version 1.2.0 -out dir
//
// The same tree and SOURCE_DATE_EPOCH give the same bytes. Without SOURCE_DATE_EPOCH the time is that
// of the last commit.
package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

func main() {
	version := flag.String("version", "0.0.0", "version of the packages")
	out := flag.String("out", ".", "folder the packages are written to")
	flag.Parse()
	if err := run(*version, *out); err != nil {
		fmt.Fprintln(os.Stderr, "package:", err)
		os.Exit(1)
	}
}

func run(version, out string) error {
	root, err := filepath.Abs(filepath.Join("..", ".."))
	if err != nil {
		return err
	}
	at, err := sourceTime(root)
	if err != nil {
		return err
	}
	maker, err := newMaker(root, version, at)
	if err != nil {
		return err
	}
	defer maker.close()
	for _, b := range boards {
		path, err := maker.make(b, out)
		if err != nil {
			return fmt.Errorf("%s: %w", b.debian, err)
		}
		fmt.Println(path)
	}
	return nil
}

// sourceTime is the time that every file of a package bears.
func sourceTime(root string) (time.Time, error) {
	text, told := os.LookupEnv("SOURCE_DATE_EPOCH")
	if !told {
		said, err := exec.Command("git", "-C", root, "log", "-1", "--format=%ct").Output()
		if err != nil {
			return time.Time{}, fmt.Errorf("time of the last commit: %w; set SOURCE_DATE_EPOCH", err)
		}
		text = strings.TrimSpace(string(said))
	}
	unix, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return time.Time{}, fmt.Errorf("SOURCE_DATE_EPOCH %q is no time; write seconds since 1970", text)
	}
	return time.Unix(unix, 0).UTC(), nil
}
