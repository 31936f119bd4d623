package main

import (
	"bytes"
	"debug/elf"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// want is every file of a package. Data under other licences is none of them.
var want = []string{
	"/etc/loambank/farm.toml",
	"/usr/bin/loambank",
	"/usr/lib/systemd/system/loambank-clock.service",
	"/usr/lib/systemd/system/loambank.service",
	"/usr/lib/sysusers.d/loambank.conf",
	"/usr/lib/udev/rules.d/60-loambank.rules",
	"/usr/share/bash-completion/completions/loambank",
	"/usr/share/doc/loambank/NOTICE",
	"/usr/share/doc/loambank/copyright",
	"/usr/share/doc/loambank/licences.txt.gz",
	"/usr/share/doc/loambank/loambank.cdx.json",
	"/usr/share/man/man8/loambank.8.gz",
}

var at = time.Date(2026, time.January, 21, 5, 0, 0, 0, time.UTC)

// made makes the package of a version and unpacks it.
func made(t *testing.T, b board, version string) (path, unpacked string) {
	t.Helper()
	m, err := newMaker(filepath.Join("..", ".."), version, at)
	if err != nil {
		t.Fatal(err)
	}
	defer m.close()
	if path, err = m.make(b, t.TempDir()); err != nil {
		t.Fatal(err)
	}
	unpacked = t.TempDir()
	ran(t, nil, "dpkg-deb", "-x", path, unpacked)
	return path, unpacked
}

// ran runs a program that must do well and returns what it said.
func ran(t *testing.T, env []string, name string, args ...string) string {
	t.Helper()
	c := exec.Command(name, args...)
	c.Env = append(os.Environ(), env...)
	said, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, said)
	}
	return string(said)
}

func read(t *testing.T, parts ...string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(parts...))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestWhatStandsInEachPackage(t *testing.T) {
	machines := map[string]elf.Machine{"armhf": elf.EM_ARM, "arm64": elf.EM_AARCH64, "amd64": elf.EM_X86_64}
	// The first line of data that is under the GPL, and so in no package.
	gpl, _, _ := bytes.Cut(read(t, "../../testdata/greenhouse/veneto/tunnel_veneto_1_2021-06_2022-02.csv"), []byte("\n"))
	for _, b := range boards {
		t.Run(b.debian, func(t *testing.T) {
			path, dir := made(t, b, "1.2.0")
			if got := strings.TrimSpace(ran(t, nil, "dpkg-deb", "-f", path, "Architecture")); got != b.debian {
				t.Errorf("it is for %s", got)
			}
			var got []string
			err := filepath.WalkDir(dir, func(path string, e os.DirEntry, err error) error {
				if err == nil && !e.IsDir() {
					got = append(got, strings.TrimPrefix(path, dir))
				}
				return err
			})
			if err != nil {
				t.Fatal(err)
			}
			slices.Sort(got)
			if !slices.Equal(got, want) {
				t.Errorf("files\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
			}
			program, err := elf.Open(filepath.Join(dir, "usr/bin/loambank"))
			if err != nil {
				t.Fatal(err)
			}
			defer program.Close()
			if libraries, _ := program.ImportedLibraries(); program.Machine != machines[b.debian] || len(libraries) > 0 {
				t.Errorf("the program is for %v and needs %v", program.Machine, libraries)
			}
			if len(gpl) < 20 || bytes.Contains(read(t, dir, "usr/bin/loambank"), gpl) {
				t.Errorf("the program has %q in it", gpl)
			}
			if got, want := read(t, dir, "etc/loambank/farm.toml"), read(t, "../../testdata/config/example.toml"); !bytes.Equal(got, want) {
				t.Error("the example is another")
			}
			checkParts(t, dir)
		})
	}
}

// checkParts compares the bill of materials with what the program says it was linked from.
func checkParts(t *testing.T, dir string) {
	t.Helper()
	var b bill
	if err := json.Unmarshal(read(t, dir, "usr/share/doc/loambank/loambank.cdx.json"), &b); err != nil {
		t.Fatal(err)
	}
	listed := map[string]bool{}
	for _, c := range b.Components {
		listed[c.Name+" "+c.Version] = true
		if len(c.Licences) != 1 || strings.Contains(strings.ReplaceAll(c.Licences[0].Expression, "EPL", ""), "GPL") {
			t.Errorf("%s: licence %v", c.Name, c.Licences)
		}
	}
	linked := 0
	for line := range strings.Lines(ran(t, nil, "go", "version", "-m", filepath.Join(dir, "usr/bin/loambank"))) {
		if f := strings.Fields(line); len(f) > 2 && f[0] == "dep" {
			linked++
			if !listed[f[1]+" "+f[2]] {
				t.Errorf("%s %s is not listed", f[1], f[2])
			}
		}
	}
	if linked < 20 || len(b.Components) != linked+1 || b.Format != "CycloneDX" { // and Go's own library
		t.Errorf("%d modules are linked, %d parts listed", linked, len(b.Components))
	}
}

func TestTheSameTreeGivesTheSameBytes(t *testing.T) {
	first, _ := made(t, boards[2], "1.2.0")
	second, _ := made(t, boards[2], "1.2.0")
	if !bytes.Equal(read(t, first), read(t, second)) {
		t.Error("two packages of one tree differ")
	}
}

// TestALifeOfAPackage installs, upgrades, removes and purges with dpkg in a folder of its own. The
// scripts run outside of it (DPKG_ROOT), so no service starts; that needs a running systemd.
func TestALifeOfAPackage(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("dpkg unpacks as root only; run as root")
	}
	root := t.TempDir()
	for _, dir := range []string{"var/lib/dpkg/info", "var/lib/dpkg/updates", "var/lib/dpkg/triggers", "etc"} {
		if err := os.MkdirAll(filepath.Join(root, dir), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	put := func(path, text string) {
		t.Helper()
		path = filepath.Join(root, path)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	put("var/lib/dpkg/status", "")
	dpkg := func(args ...string) string {
		t.Helper()
		args = append([]string{"--root=" + root, "--log=/dev/null", "--force-script-chrootless", "--force-depends", "--force-confdef", "--force-confold"}, args...)
		return ran(t, []string{"LC_ALL=C"}, "dpkg", args...)
	}
	gone := func(path string) bool {
		_, err := os.Stat(filepath.Join(root, path))
		return os.IsNotExist(err)
	}

	native := boards[slices.IndexFunc(boards, func(b board) bool {
		return b.debian == strings.TrimSpace(ran(t, nil, "dpkg", "--print-architecture"))
	})]
	old, _ := made(t, native, "1.2.0")
	if said := dpkg("-i", old); !strings.Contains(said, "systemctl enable --now loambank") {
		t.Errorf("nobody is told what comes next: %s", said)
	}
	if users := string(read(t, root, "etc/passwd")); !strings.Contains(users, "loambank") {
		t.Errorf("no user: %s", users)
	}
	if groups := string(read(t, root, "etc/group")); !strings.Contains(groups, "gpio") || !strings.Contains(groups, "i2c") || !strings.Contains(groups, "dialout") {
		t.Errorf("no groups: %s", groups)
	}
	ran(t, nil, filepath.Join(root, "usr/bin/loambank"), "check", filepath.Join(root, "etc/loambank/farm.toml"))

	edited := string(read(t, root, "etc/loambank/farm.toml")) + "# edited\n"
	put("etc/loambank/farm.toml", edited)
	put("var/lib/loambank/ledger", "hours")
	next, _ := made(t, native, "1.3.0")
	if said := dpkg("-i", next); strings.Contains(said, "enable --now") {
		t.Errorf("an upgrade tells how to begin: %s", said)
	}
	if status := dpkg("-s", "loambank"); !strings.Contains(status, "Version: 1.3.0") || !strings.Contains(status, "Status: install ok installed") {
		t.Errorf("not upgraded: %s", status)
	}
	if string(read(t, root, "etc/loambank/farm.toml")) != edited || string(read(t, root, "var/lib/loambank/ledger")) != "hours" {
		t.Error("an upgrade loses settings or ledger")
	}

	dpkg("-r", "loambank")
	if !gone("usr/bin/loambank") || !gone("usr/lib/systemd/system/loambank.service") || gone("etc/loambank/farm.toml") || gone("var/lib/loambank/ledger") {
		t.Error("removing takes the program, and leaves settings and ledger")
	}
	dpkg("-P", "loambank")
	if !gone("etc/loambank/farm.toml") || !gone("var/lib/loambank") {
		t.Error("purging leaves settings or ledger")
	}
}

func TestTheManualIsUnderstood(t *testing.T) {
	m := &manual{help: "-x\n.dot 'quote' \\n\n'q\n", commands: []command{{"run", "Flags:\n  --config=x\n  --speed\n  --config"}}}
	page := string(m.roff("1", at))
	for _, want := range []string{".TH LOAMBANK 8 2026-01-21 \"loambank 1\"\n", "\\-x\n\\&.dot 'quote' \\en\n\\&'q\n", ".SH RUN\n"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q in\n%s", want, page)
		}
	}
	script := filepath.Join(t.TempDir(), "loambank")
	if err := os.WriteFile(script, m.completion(), 0o644); err != nil {
		t.Fatal(err)
	}
	for words, want := range map[string]string{"loambank r": "run", "loambank run --s": "--speed", "loambank run --": "--config\n--speed"} {
		ask := `source "$0"; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _loambank; printf '%s\n' "${COMPREPLY[@]}"`
		got := ran(t, nil, "bash", append([]string{"-c", ask, script}, strings.Fields(words)...)...)
		if strings.TrimSpace(got) != want {
			t.Errorf("%s: %q, want %q", words, got, want)
		}
	}
}

func TestIdentify(t *testing.T) {
	for text, want := range map[string]string{
		"Apache License\n  Version 2.0":                                                                            "Apache-2.0",
		"Permission is hereby granted, free\nof charge":                                                            "MIT",
		"Redistribution and use in source and binary forms ... Neither the name of":                                "BSD-3-Clause",
		"Redistribution and use in source and binary forms":                                                        "BSD-2-Clause",
		"made available under the terms of the Eclipse Public License v2.0\nand Eclipse Distribution License v1.0": "EPL-2.0 OR BSD-3-Clause",
		"GNU GENERAL PUBLIC LICENSE Version 3 ... Apache License Version 2.0":                                      "",
		"All rights reserved.": "",
	} {
		if got := identify(text); got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}
