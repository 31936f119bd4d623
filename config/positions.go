package config

import (
	"fmt"
	"sort"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"
)

// place is where a key stands in the file, both from 1.
type place struct{ line, column int }

// maxDepth bounds how deep tables and lists may be nested; File needs half of it.
const maxDepth = 12

// maxKeys bounds the keys of a file: twenty large houses have half of it, and the work of telling
// the faults of a file that is no farm at all has to end.
const maxKeys = 20000

// positions knows where each key of the file stands, by its path: "house[1].store[0].margin".
type positions struct {
	at    map[string]place
	deep  place // of the first key nested deeper than maxDepth; the zero value is none
	data  []byte
	lines []int // offset of each line's first byte
}

// locate reads data for the places of its keys, as far as it is good TOML.
func locate(data []byte) positions {
	p := positions{at: map[string]place{}, data: data, lines: []int{0}}
	for i, c := range data {
		if c == '\n' {
			p.lines = append(p.lines, i+1)
		}
	}
	var parser unstable.Parser
	parser.Reset(data)
	count := map[string]int{}
	table := ""
	for parser.NextExpression() && len(p.at) <= maxKeys && p.deep == (place{}) {
		node := parser.Expression()
		switch node.Kind {
		case unstable.Table, unstable.ArrayTable:
			table = p.header(node, count)
		case unstable.KeyValue:
			p.keyValue(table, node, 0)
		}
	}
	return p
}

// header notes a [table] or [[array table]] and returns its path. A part that is an array stands
// for the array's last element.
func (p *positions) header(node *unstable.Node, count map[string]int) string {
	path := ""
	keys := node.Key()
	for depth := 1; keys.Next(); depth++ {
		key := keys.Node()
		if p.tooDeep(depth, key.Raw) {
			return path
		}
		path = join(path, string(key.Data))
		p.note(path, key.Raw)
		if keys.IsLast() && node.Kind == unstable.ArrayTable {
			count[path]++
		}
		if n := count[path]; n > 0 {
			path = index(path, n-1)
			p.note(path, key.Raw)
		}
	}
	return path
}

// keyValue notes one key, and the keys inside its value.
func (p *positions) keyValue(table string, node *unstable.Node, depth int) {
	path := table
	keys := node.Key()
	for keys.Next() {
		depth++
		if p.tooDeep(depth, keys.Node().Raw) {
			return
		}
		path = join(path, string(keys.Node().Data))
		p.note(path, keys.Node().Raw)
	}
	p.value(path, node.Value(), depth)
}

func (p *positions) value(path string, node *unstable.Node, depth int) {
	children := node.Children()
	switch node.Kind {
	case unstable.InlineTable:
		for children.Next() {
			if child := children.Node(); child.Kind == unstable.KeyValue {
				p.keyValue(path, child, depth)
			}
		}
	case unstable.Array:
		for i := 0; children.Next(); i++ {
			child := children.Node()
			if p.tooDeep(depth+1, child.Raw) {
				return
			}
			if child.Raw.Length > 0 {
				p.note(index(path, i), child.Raw)
			}
			p.value(index(path, i), child, depth+1)
		}
	}
}

// tooDeep notes the first key that is nested too deep; what is inside it is not looked at.
func (p *positions) tooDeep(depth int, raw unstable.Range) bool {
	if depth > maxDepth && p.deep == (place{}) {
		p.deep = p.place(raw)
	}
	return depth > maxDepth
}

// note keeps the first place of a path.
func (p *positions) note(path string, raw unstable.Range) {
	if _, known := p.at[path]; known || len(p.at) > maxKeys {
		return
	}
	p.at[path] = p.place(raw)
}

func (p *positions) place(raw unstable.Range) place {
	offset := int(raw.Offset)
	line := sort.SearchInts(p.lines, offset+1)
	before := p.data[p.lines[line-1]:offset]
	// Characters are counted where people can see them; further right bytes do.
	near := before[:min(len(before), 1000)]
	return place{line, utf8.RuneCount(near) + len(before) - len(near) + 1}
}

// has reports whether the key is written in the file.
func (p *positions) has(path string) bool {
	_, ok := p.at[path]
	return ok
}

// find returns the place of a key, or of the nearest table around it that is written.
func (p *positions) find(path string) place {
	for path != "" {
		if at, ok := p.at[path]; ok {
			return at
		}
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
	}
	return place{1, 1}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func index(path string, i int) string { return fmt.Sprintf("%s[%d]", path, i) }
