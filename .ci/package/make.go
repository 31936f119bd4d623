package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/goreleaser/nfpm/v2"
	"github.com/goreleaser/nfpm/v2/deb"
	"github.com/goreleaser/nfpm/v2/files"
)

// board is a kind of machine that there is a package for.
type board struct {
	debian, arch, nfpm string // as Debian, Go and the packager call it
	env                []string
}

var boards = []board{
	{"armhf", "arm", "arm6", []string{"GOARCH=arm", "GOARM=6"}},
	{"arm64", "arm64", "arm64", []string{"GOARCH=arm64"}},
	{"amd64", "amd64", "amd64", []string{"GOARCH=amd64"}},
}

// maker makes packages of one version of a tree.
type maker struct {
	root, version string
	at            time.Time
	dir           string // for what is made on the way
	manual        *manual
}

func newMaker(root, version string, at time.Time) (*maker, error) {
	dir, err := os.MkdirTemp("", "loambank-package-")
	if err != nil {
		return nil, err
	}
	m := &maker{root: root, version: version, at: at, dir: dir}
	here := filepath.Join(dir, "here")
	if err := m.build(here, "GOARCH="+runtime.GOARCH); err != nil {
		m.close()
		return nil, err
	}
	if m.manual, err = ask(here); err != nil {
		m.close()
		return nil, err
	}
	return m, nil
}

func (m *maker) close() { _ = os.RemoveAll(m.dir) }

// build builds the program.
func (m *maker) build(out string, env ...string) error {
	flags, err := os.ReadFile(filepath.Join(m.root, ".ci", "shipped"))
	if err != nil {
		return err
	}
	args := append([]string{"build"}, strings.Split(strings.TrimSpace(string(flags)), "\n")...)
	c := exec.Command("go", append(args, "-o", out, "./cmd/loambank")...)
	c.Dir = m.root
	c.Env = append(os.Environ(), append(env, "CGO_ENABLED=0", "GOOS=linux", "GOFLAGS=")...)
	if said, err := c.CombinedOutput(); err != nil {
		return fmt.Errorf("%w\n%s", err, said)
	}
	return nil
}

// make makes the package for a board and returns its path.
func (m *maker) make(b board, out string) (path string, err error) {
	program := filepath.Join(m.dir, b.debian)
	if err := m.build(program, b.env...); err != nil {
		return "", err
	}
	parts, err := partsOf(m.root, program)
	if err != nil {
		return "", err
	}
	contents, err := m.contents(program, parts)
	if err != nil {
		return "", err
	}
	info := nfpm.WithDefaults(&nfpm.Info{
		Name: "loambank", Arch: b.nfpm, Platform: "linux", Version: m.version, Section: "misc", Priority: "optional",
		Maintainer:  "the loambank authors <loambank@example.invalid>",
		Description: "controller and account book for soil heat stores in hoop houses\n" + about,
		License:     "Apache-2.0", MTime: m.at, DisableGlobbing: true,
		Overridables: nfpm.Overridables{
			Depends: []string{"systemd"}, Contents: contents,
			Scripts: nfpm.Scripts{PostInstall: "file/postinst", PreRemove: "file/prerm", PostRemove: "file/postrm"},
		},
	})
	if err := nfpm.PrepareForPackager(info, "deb"); err != nil {
		return "", err
	}
	path = filepath.Join(out, deb.Default.ConventionalFileName(info))
	f, err := os.Create(path)
	if err != nil {
		return "", err
	}
	if err := deb.Default.Package(info, f); err != nil {
		_ = f.Close()
		return "", err
	}
	return path, f.Close()
}

const about = `Runs the fans that push house air through pipes under the beds, so that heat is
stored in the soil by day and comes back at night, and keeps account of what
that cost and saved. A convenience control, not a safety device.`

// contents is what stands in a package: nothing else does.
func (m *maker) contents(program string, parts []part) (files.Contents, error) {
	doc := "/usr/share/doc/loambank/"
	licences, err := licenceTexts(parts)
	if err != nil {
		return nil, err
	}
	bill, err := billOf(m.version, parts)
	if err != nil {
		return nil, err
	}
	type made struct {
		text []byte
		to   string
	}
	list := files.Contents{
		{Source: program, Destination: "/usr/bin/loambank", FileInfo: &files.ContentFileInfo{Mode: 0o755}},
		{Source: m.in("deploy/loambank.service"), Destination: "/usr/lib/systemd/system/loambank.service"},
		{Source: m.in("deploy/loambank-clock.service"), Destination: "/usr/lib/systemd/system/loambank-clock.service"},
		{Source: "file/sysusers.conf", Destination: "/usr/lib/sysusers.d/loambank.conf"},
		{Source: "file/udev.rules", Destination: "/usr/lib/udev/rules.d/60-loambank.rules"},
		{Source: m.in("testdata/config/example.toml"), Destination: "/etc/loambank/farm.toml", Type: files.TypeConfig},
		{Source: "file/copyright", Destination: doc + "copyright"},
		{Source: m.in("deploy/NOTICE"), Destination: doc + "NOTICE"},
	}
	for _, f := range []made{
		{zip(licences), doc + "licences.txt.gz"},
		{bill, doc + "loambank.cdx.json"},
		{zip(m.manual.roff(m.version, m.at)), "/usr/share/man/man8/loambank.8.gz"},
		{m.manual.completion(), "/usr/share/bash-completion/completions/loambank"},
	} {
		path := filepath.Join(m.dir, filepath.Base(f.to)+".made")
		if err := os.WriteFile(path, f.text, 0o644); err != nil {
			return nil, err
		}
		list = append(list, &files.Content{Source: path, Destination: f.to})
	}
	for _, c := range list {
		if c.FileInfo == nil {
			c.FileInfo = &files.ContentFileInfo{Mode: 0o644}
		}
		c.FileInfo.MTime, c.FileInfo.Owner, c.FileInfo.Group = m.at, "root", "root"
	}
	return list, nil
}

func (m *maker) in(path string) string { return filepath.Join(m.root, path) }
