package config

import (
	"bytes"
	"crypto/sha256"
	"encoding"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"reflect"
	"strings"
	"unicode/utf8"

	"github.com/go-viper/mapstructure/v2"
	parser "github.com/knadh/koanf/parsers/toml/v2"
	"github.com/knadh/koanf/providers/env/v2"
	"github.com/knadh/koanf/providers/rawbytes"
	"github.com/knadh/koanf/v2"
	"github.com/pelletier/go-toml/v2"
)

// maxBytes bounds the file; a farm's settings are some kilobytes.
const maxBytes = 1 << 20

// envPrefix begins the environment's variables that are ours.
const envPrefix = "LOAMBANK_"

// Load reads the settings file at path, with environ in os.Environ's form over it. A faulty file
// gives Faults; a missing one wraps fs.ErrNotExist.
func Load(path string, environ []string) (*Settings, error) {
	data, err := read(path)
	if err != nil {
		return nil, err
	}
	return Parse(path, data, environ)
}

func read(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s: %w; give the path of the farm's settings file", path, fs.ErrNotExist)
	case err != nil:
		return nil, fmt.Errorf("settings: %w", err)
	case info.IsDir():
		return nil, fmt.Errorf("%s: is a folder; give the path of the settings file in it", path)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: is not a plain file; give the path of the settings file", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("settings: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("settings: %w", err)
	}
	return data, nil
}

// Parse is Load for a file that is already read; name stands in its faults. Every error is Faults.
func Parse(name string, data []byte, environ []string) (*Settings, error) {
	source := data
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if f, bad := unreadable(data); bad {
		f.File = name
		return nil, Faults{f}
	}
	pos := locate(data)
	const remedy = "write the keys that the manual shows"
	switch {
	case pos.deep != (place{}):
		return nil, Faults{{File: name, Line: pos.deep.line, Column: pos.deep.column, What: "tables are nested too deep", Remedy: remedy}}
	case len(pos.at) > maxKeys:
		return nil, Faults{{File: name, Line: 1, What: fmt.Sprintf("the file has more than %d keys", maxKeys), Remedy: remedy}}
	}
	layers, err := layer(data, environ)
	if err != nil {
		return nil, Faults{syntax(name, err)}
	}
	b := newBuilder(name, pos)
	raw := layers.Raw()
	schema{b}.table("", raw, reflect.TypeFor[File]())
	file, err := decode(raw)
	if err != nil {
		b.fault("", strings.ReplaceAll(err.Error(), "\n", " "), "write each value in the form that the manual shows")
		return nil, b.faults.tidy()
	}
	s, err := b.build(file, environ)
	if s != nil {
		s.Source, s.Hash = source, fmt.Sprintf("%x", sha256.Sum256(source))
	}
	return s, err
}

// unreadable refuses what is no text at all.
func unreadable(data []byte) (Fault, bool) {
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return Fault{Line: 1, What: "the file is empty", Remedy: "begin with the example farm in the manual"}, true
	case len(data) > maxBytes:
		return Fault{Line: 1, What: "the file is larger than 1 MiB", Remedy: "give the settings file, not a recording or an image"}, true
	}
	line := 1
	for rest := data; len(rest) > 0; {
		r, size := utf8.DecodeRune(rest)
		switch {
		case r == 0:
			return Fault{Line: line, What: "the file is not text", Remedy: "give a TOML file in UTF-8"}, true
		case r == utf8.RuneError && size == 1:
			return Fault{Line: line, What: "the file is not UTF-8 text", Remedy: "save it as UTF-8"}, true
		case r == '\n':
			line++
		}
		rest = rest[size:]
	}
	return Fault{}, false
}

// layer puts the defaults, the file and the environment over one another.
func layer(data []byte, environ []string) (*koanf.Koanf, error) {
	k := koanf.New(".")
	for key, value := range defaultScalars() {
		if err := k.Set(key, value); err != nil {
			return nil, err
		}
	}
	if err := k.Load(rawbytes.Provider(data), parser.Parser()); err != nil {
		return nil, err
	}
	return k, k.Load(env.Provider(".", env.Opt{
		Prefix:        envPrefix,
		EnvironFunc:   func() []string { return environ },
		TransformFunc: overridden,
	}), nil)
}

// overridden names the key that an environment variable stands for, "" for none.
func overridden(name, value string) (string, any) {
	switch name {
	case envPrefix + "STATE_DIR":
		return "state_dir", value
	case envPrefix + "LISTEN":
		return "listen", value
	}
	return "", nil
}

// syntax turns the TOML parser's error into a fault.
func syntax(name string, err error) Fault {
	f := Fault{File: name, Line: 1, What: strings.TrimPrefix(err.Error(), "toml: ")}
	var decode *toml.DecodeError
	if errors.As(err, &decode) {
		f.Line, f.Column = decode.Position()
		f.Line = max(f.Line, 1)
		f.What = strings.TrimPrefix(decode.Error(), "toml: ")
	}
	if strings.HasPrefix(f.What, "expected newline") {
		f.What = "something stands behind the value"
	}
	f.Remedy = `write key = "value", with text and quantities in quotes`
	if strings.Contains(f.What, "already") || strings.Contains(f.What, "exists") {
		f.Remedy = "keep one of the two"
	}
	return f
}

// decode fills a File. The schema has removed what does not fit, so the decoder's strictness is a
// second net, not the first.
func decode(raw map[string]any) (*File, error) {
	file := new(File)
	d, err := mapstructure.NewDecoder(&mapstructure.DecoderConfig{
		Result:           file,
		TagName:          "koanf",
		ErrorUnused:      true,
		WeaklyTypedInput: false,
		MatchName:        func(key, field string) bool { return key == field },
		DecodeHook:       keepText,
	})
	if err != nil {
		return nil, err
	}
	return file, d.Decode(raw)
}

// keepText gives quantities their text, also where a bare number was written: Build refuses that
// with a better word than a decoder could.
func keepText(_, to reflect.Type, v any) (any, error) {
	target := reflect.New(to)
	q, ok := target.Interface().(encoding.TextUnmarshaler)
	if !ok || !isText(v) && !isNumber(v) {
		return v, nil
	}
	if err := q.UnmarshalText([]byte(fmt.Sprint(v))); err != nil {
		return nil, err
	}
	return target.Elem().Interface(), nil
}
