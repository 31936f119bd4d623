package controller_test

import (
	"bytes"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// goPackage is a parsed package without its tests, with the types that could be found out.
type goPackage struct {
	set   *token.FileSet
	files []*ast.File
	types *types.Package
	info  types.Info
}

// tree parses packages of this module. What it cannot import, it leaves out: a test on it sees
// less, never more.
type tree struct {
	root   string
	set    *token.FileSet
	others types.Importer
	done   map[string]*types.Package
}

func newTree(root string) *tree {
	set := token.NewFileSet()
	return &tree{root: root, set: set, others: importer.ForCompiler(set, "gc", nil), done: map[string]*types.Package{}}
}

// Import makes tree a types.Importer.
func (t *tree) Import(path string) (*types.Package, error) {
	dir, ours := strings.CutPrefix(path, "loambank/")
	if !ours {
		return t.others.Import(path)
	}
	if p := t.done[path]; p != nil {
		return p, nil
	}
	files, err := t.parse(dir)
	if err != nil {
		return nil, err
	}
	p := t.check(path, files)
	t.done[path] = p.types
	return p.types, nil
}

// load parses the package in a folder of the module.
func (t *tree) load(tb testing.TB, dir string) *goPackage {
	tb.Helper()
	files, err := t.parse(dir)
	if err != nil {
		tb.Fatal(err)
	}
	if len(files) == 0 {
		tb.Fatalf("%s has no Go file", dir)
	}
	return t.check("loambank/"+dir, files)
}

// text parses a package of one file.
func (t *tree) text(tb testing.TB, name, text string) *goPackage {
	tb.Helper()
	f, err := parser.ParseFile(t.set, name, text, parser.SkipObjectResolution)
	if err != nil {
		tb.Fatal(err)
	}
	return t.check(name, []*ast.File{f})
}

func (t *tree) parse(dir string) (files []*ast.File, err error) {
	names, err := filepath.Glob(filepath.Join(t.root, dir, "*.go"))
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(t.set, name, nil, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	return files, nil
}

func (t *tree) check(path string, files []*ast.File) *goPackage {
	p := &goPackage{set: t.set, files: files, info: types.Info{
		Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{},
	}}
	conf := types.Config{Importer: t, Error: func(error) {}} // an import that fails is not what is tested
	p.types, _ = conf.Check(path, t.set, files, &p.info)
	return p
}

// TestNoFileIsLong looks at every Go file of the module.
func TestNoFileIsLong(t *testing.T) {
	const most = 600
	seen := 0
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && path != ".." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata"):
			return filepath.SkipDir
		case d.IsDir() || filepath.Ext(path) != ".go":
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		seen++
		if n := bytes.Count(text, []byte("\n")); n > most {
			t.Errorf("%s has %d lines; %d are the most: split it by idea", path, n, most)
		}
		return nil
	})
	if err != nil || seen < 100 {
		t.Errorf("%d files seen: %v", seen, err)
	}
}
