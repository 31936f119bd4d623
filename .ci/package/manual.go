package main

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"time"
)

// manual is what the program says of itself.
type manual struct {
	help     string
	commands []command
}

type command struct{ name, help string }

var (
	commandLine = regexp.MustCompile(`(?m)^  ([a-z]+) {2,}\S`)
	flagWord    = regexp.MustCompile(`--[a-z][a-z-]*`)
)

// ask asks a program for its help.
func ask(program string) (*manual, error) {
	help, err := exec.Command(program, "--help").Output()
	if err != nil {
		return nil, fmt.Errorf("help: %w", err)
	}
	m := &manual{help: string(help)}
	_, list, _ := strings.Cut(m.help, "Commands:\n")
	for _, found := range commandLine.FindAllStringSubmatch(list, -1) {
		help, err := exec.Command(program, found[1], "--help").Output()
		if err != nil {
			return nil, fmt.Errorf("help of %s: %w", found[1], err)
		}
		m.commands = append(m.commands, command{found[1], string(help)})
	}
	if len(m.commands) == 0 {
		return nil, fmt.Errorf("the help names no command; it has a part \"Commands:\"")
	}
	return m, nil
}

// roff is the manual page: the help of every command as it is printed.
func (m *manual) roff(version string, at time.Time) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, ".TH LOAMBANK 8 %s %q\n", at.Format(time.DateOnly), "loambank "+version)
	b.WriteString(".SH NAME\nloambank \\- run the fans of soil heat stores in hoop houses\n.SH SYNOPSIS\n")
	verbatim(&b, m.help)
	b.WriteString(".SH FILES\n.TP\n/etc/loambank/farm.toml\nthe farm's settings\n.TP\n/var/lib/loambank\nledger, history and journal\n")
	for _, c := range m.commands {
		fmt.Fprintf(&b, ".SH %s\n", strings.ToUpper(c.name))
		verbatim(&b, c.help)
	}
	return b.Bytes()
}

func verbatim(b *bytes.Buffer, text string) {
	b.WriteString(".nf\n")
	for line := range strings.Lines(strings.TrimSpace(text) + "\n") {
		line = strings.ReplaceAll(line, `\`, `\e`)
		line = strings.ReplaceAll(line, "-", `\-`)
		if strings.HasPrefix(line, ".") || strings.HasPrefix(line, "'") {
			line = `\&` + line
		}
		b.WriteString(line)
	}
	b.WriteString(".fi\n")
}

// completion is what a shell offers: the commands, and each one's flags and files.
func (m *manual) completion() []byte {
	var b bytes.Buffer
	var names []string
	b.WriteString("# bash completion of loambank\n_loambank() {\n\tlocal words\n\tcase ${COMP_WORDS[1]} in\n")
	for _, c := range m.commands {
		names = append(names, c.name)
		_, list, _ := strings.Cut(c.help, "Flags:\n")
		flags := flagWord.FindAllString(list, -1)
		slices.Sort(flags)
		fmt.Fprintf(&b, "\t%s) words='%s' ;;\n", c.name, strings.Join(slices.Compact(flags), " "))
	}
	b.WriteString("\tesac\n\t[ \"$COMP_CWORD\" -gt 1 ] || words='" + strings.Join(names, " ") + " --help'\n")
	b.WriteString("\tmapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"${COMP_WORDS[COMP_CWORD]}\")\n}\n")
	b.WriteString("complete -o default -F _loambank loambank\n")
	return b.Bytes()
}

// zip packs text without a time of its own.
func zip(text []byte) []byte {
	var b bytes.Buffer
	z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression) // the level is one there is
	_, _ = z.Write(text)                                  // into memory
	_ = z.Close()
	return b.Bytes()
}
