package main

import (
	"bytes"
	"debug/buildinfo"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
)

// part is a module of others in the program.
type part struct {
	path, version string
	licence       string // SPDX expression
	texts         []text // of licence and notice files
}

type text struct {
	name string
	text []byte
}

// partsOf returns what a program is made of: each module it says it was linked from, and Go's own
// library. A part whose licence is not known, or forbids to ship it under ours, is an error.
func partsOf(root, program string) ([]part, error) {
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return nil, err
	}
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	parts := []part{{path: "std", version: strings.TrimPrefix(info.GoVersion, "go")}}
	folders := []string{strings.TrimSpace(string(goroot))}
	for _, d := range info.Deps {
		if d.Replace != nil {
			return nil, fmt.Errorf("%s is replaced; build from the modules as they are published", d.Path)
		}
		c := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", d.Path+"@"+d.Version)
		c.Dir = root
		folder, err := c.Output()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", d.Path, err)
		}
		parts = append(parts, part{path: d.Path, version: d.Version})
		folders = append(folders, strings.TrimSpace(string(folder)))
	}
	for i := range parts {
		err = errors.Join(err, parts[i].license(folders[i]))
	}
	return parts, err
}

var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents|unlicense)`)

// license reads the licence and notice files of a module.
func (p *part) license(folder string) error {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return fmt.Errorf("%s: %w", p.path, err)
	}
	for _, e := range entries {
		if e.IsDir() || !licenceFile.MatchString(e.Name()) || strings.HasSuffix(e.Name(), ".go") {
			continue
		}
		content, err := os.ReadFile(filepath.Join(folder, e.Name()))
		if err != nil {
			return err
		}
		p.texts = append(p.texts, text{e.Name(), content})
		stem, _, _ := strings.Cut(strings.ToLower(e.Name()), ".")
		if stem == "license" || stem == "licence" || stem == "copying" {
			p.licence = identify(string(content))
		}
	}
	if p.licence == "" {
		return fmt.Errorf("%s %s: its licence is not known; read it, and teach it to identify", p.path, p.version)
	}
	return nil
}

// identify returns the SPDX expression of a licence's text, or nothing. Wording by the SPDX licence
// list; those of the GNU family have none here, as they do not allow ours.
func identify(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	has := func(words string) bool { return strings.Contains(text, words) }
	switch {
	case has("GNU GENERAL PUBLIC LICENSE"), has("GNU LESSER GENERAL PUBLIC"), has("GNU AFFERO"):
		return ""
	case has("Eclipse Public License v2.0 and Eclipse Distribution License v1.0"):
		return "EPL-2.0 OR BSD-3-Clause"
	case has("Apache License Version 2.0"):
		return "Apache-2.0"
	case has("Licensed under the Apache License, Version 2.0"):
		return "Apache-2.0"
	case has("Permission is hereby granted, free of charge"):
		return "MIT"
	case !has("Redistribution and use in source and binary forms"):
		return ""
	case has("Neither the name"), has("names of its contributors"), has("name of the author may not be used"):
		return "BSD-3-Clause"
	}
	return "BSD-2-Clause"
}

// licenceTexts is every licence and notice, one after the other.
func licenceTexts(parts []part) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("loambank is shipped as one program with these parts of others in it.\n\n")
	for _, p := range parts {
		fmt.Fprintf(&b, "%s %s: %s\n", p.path, p.version, p.licence)
	}
	for _, p := range parts {
		for _, t := range p.texts {
			fmt.Fprintf(&b, "\n%s\n%s %s, %s\n\n%s\n", strings.Repeat("=", 72), p.path, p.version, t.name, bytes.TrimSpace(t.text))
		}
	}
	return b.Bytes(), nil
}

// bill is a bill of materials: CycloneDX 1.5, JSON, the keys it requires and the ones that say what
// a part is.
type bill struct {
	Format     string      `json:"bomFormat"`
	Spec       string      `json:"specVersion"`
	Version    int         `json:"version"`
	Metadata   metadata    `json:"metadata"`
	Components []component `json:"components"`
}

type metadata struct {
	Component component `json:"component"`
}

type component struct {
	Type     string    `json:"type"`
	Name     string    `json:"name"`
	Version  string    `json:"version"`
	URL      string    `json:"purl,omitempty"` // package URL
	Licences []licence `json:"licenses"`
}

type licence struct {
	Expression string `json:"expression"`
}

func billOf(version string, parts []part) ([]byte, error) {
	b := bill{Format: "CycloneDX", Spec: "1.5", Version: 1}
	b.Metadata.Component = component{Type: "application", Name: "loambank", Version: version, Licences: []licence{{"Apache-2.0"}}}
	for _, p := range parts {
		b.Components = append(b.Components, component{
			Type: "library", Name: p.path, Version: p.version, URL: "pkg:golang/" + p.path + "@" + p.version, Licences: []licence{{p.licence}},
		})
	}
	text, err := json.MarshalIndent(b, "", "  ")
	return append(text, '\n'), err
}
