package controller_test

import (
	"fmt"
	"go/ast"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// pure lists the packages of the pure core with what else than the standard library each may
// import: each other downwards. Those that do not exist yet are bound from their first file on.
var pure = map[string][]string{
	"controller/physics":    {"loambank/config/unit"},
	"controller/season":     {"loambank/config/unit", "loambank/controller/physics", "github.com/robfig/cron/v3"},
	"controller/tariff":     {"loambank/config/unit", "loambank/controller/season"},
	"controller/judge":      {"loambank/config/unit", "loambank/controller/physics"},
	"controller/learn":      {"loambank/config/unit", "loambank/controller/physics", "loambank/controller/judge"},
	"controller/commission": {"loambank/config/unit", "loambank/controller/judge"},
	"controller/sim/ground": {"loambank/config/unit", "loambank/controller/physics"},
	"controller/weather":    {"loambank/config/unit", "loambank/controller/physics"},
	"controller/sim/greenhouse": {
		"loambank/config/unit", "loambank/controller/physics", "loambank/controller/weather",
		"loambank/controller/sim/ground",
	},
	"controller/decide": {
		"loambank/config/unit", "loambank/controller/physics", "loambank/controller/season", "loambank/controller/tariff",
		"loambank/controller/judge", "loambank/controller/learn",
	},
	"controller/house": {
		"loambank/config/unit", "loambank/controller/physics", "loambank/controller/season", "loambank/controller/tariff",
		"loambank/controller/judge", "loambank/controller/learn", "loambank/controller/decide",
	},
}

// impure is what of the standard library the pure core does without, each with what lies below
// it, and why.
var impure = map[string]string{
	"os": "it touches no file and no machine", "io/fs": "it touches no file", "embed": "it touches no file",
	"syscall": "it touches no machine", "runtime": "it does not look at its machine",
	"net": "it talks to nobody", "context": "nothing in it waits",
	"sync": "one goroutine owns a house", "log": "the shell logs",
	"math/rand": "the same inputs give the same answer", "crypto/rand": "the same inputs give the same answer",
	"unsafe": "State is plain data",
}

// clockCalls read or wait for the machine's clock.
var clockCalls = []string{"Now", "After", "AfterFunc", "Sleep", "NewTimer", "NewTicker", "Tick", "Since", "Until"}

// TestPureCoreStaysPure reads the direct imports and calls of the pure core.
func TestPureCoreStaysPure(t *testing.T) {
	tree := newTree("..")
	found := 0
	for _, dir := range slices.Sorted(keys(pure)) {
		if _, err := os.Stat(filepath.Join("..", dir)); err != nil {
			continue
		}
		p := tree.load(t, dir)
		found++
		for _, breach := range p.breaches(pure[dir]) {
			t.Error(breach)
		}
	}
	if found < 6 {
		t.Errorf("only %d packages of the pure core were found", found)
	}
}

func keys[V any](m map[string]V) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// breaches lists file:line and reason of whatever the package may not do.
func (p *goPackage) breaches(allowed []string) (all []string) {
	say := func(at token.Pos, format string, args ...any) {
		pos := p.set.Position(at)
		all = append(all, fmt.Sprintf("%s:%d: ", pos.Filename, pos.Line)+fmt.Sprintf(format, args...))
	}
	for _, f := range p.files {
		clock := ""
		for _, spec := range f.Imports {
			path := strings.Trim(spec.Path.Value, `"`)
			if why := forbidden(path, allowed); why != "" {
				say(spec.Pos(), "imports %s: %s", path, why)
			}
			if path == "time" {
				if clock = "time"; spec.Name != nil {
					clock = spec.Name.Name
				}
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if why := p.forbiddenNode(n, clock); why != "" {
				say(n.Pos(), "%s", why)
			}
			return true
		})
		for _, spec := range packageVars(f) {
			if !fixed(spec, f) {
				say(spec.Pos(), "package variable %s is neither a sentinel nor a fixed table", spec.Names[0].Name)
			}
		}
	}
	return all
}

func forbidden(path string, allowed []string) string {
	if slices.Contains(allowed, path) {
		return ""
	}
	first, _, _ := strings.Cut(path, "/")
	if strings.Contains(first, ".") || first == "loambank" {
		return fmt.Sprintf("besides the standard library it may import %s", strings.Join(allowed, ", "))
	}
	for p := path; p != "."; p = filepath.Dir(p) {
		if why := impure[p]; why != "" {
			return why
		}
	}
	return ""
}

// forbiddenNode says why a piece of code may not be in the pure core; clock is what its file
// calls package time.
func (p *goPackage) forbiddenNode(n ast.Node, clock string) string {
	const alone = "one goroutine owns a house; goroutines and channels live in the shell"
	switch n := n.(type) {
	case *ast.GoStmt, *ast.SelectStmt, *ast.SendStmt, *ast.ChanType:
		return alone
	case *ast.UnaryExpr:
		if n.Op == token.ARROW {
			return alone
		}
	case *ast.SelectorExpr:
		if x, ok := n.X.(*ast.Ident); ok && clock != "" && x.Name == clock && slices.Contains(clockCalls, n.Sel.Name) {
			return "time." + n.Sel.Name + " reads the machine's clock: time comes in as an argument"
		}
	case *ast.RangeStmt:
		if of := p.info.TypeOf(n.X); of != nil {
			if _, ok := of.Underlying().(*types.Map); ok {
				return "a range over a map comes in another order each time"
			}
		}
	case *ast.FuncDecl:
		if n.Recv == nil && n.Name.Name == "init" {
			return "an init runs before anybody asked"
		}
	case *ast.AssignStmt:
		for _, left := range n.Lhs {
			if v := p.global(left); v != nil {
				return "package variable " + v.Name() + " is changed: State is all that is remembered"
			}
		}
	case *ast.IncDecStmt:
		if v := p.global(n.X); v != nil {
			return "package variable " + v.Name() + " is changed: State is all that is remembered"
		}
	}
	return ""
}

// global is the package variable that an assignment's left side lies in, or nil.
func (p *goPackage) global(e ast.Expr) *types.Var {
	for {
		switch x := e.(type) {
		case *ast.IndexExpr:
			e = x.X
		case *ast.SelectorExpr:
			e = x.X
		case *ast.ParenExpr:
			e = x.X
		case *ast.Ident:
			v, ok := p.info.Uses[x].(*types.Var)
			if ok && v.Parent() != nil && v.Parent() == p.types.Scope() {
				return v
			}
			return nil
		default:
			return nil
		}
	}
}

func packageVars(f *ast.File) (all []*ast.ValueSpec) {
	for _, d := range f.Decls {
		if d, ok := d.(*ast.GenDecl); ok && d.Tok == token.VAR {
			for _, spec := range d.Specs {
				all = append(all, spec.(*ast.ValueSpec))
			}
		}
	}
	return all
}

// fixed reports whether a package variable is a sentinel made by errors.New, a table written out in
// full, or one that a function of the pure core makes of numbers written there.
func fixed(spec *ast.ValueSpec, f *ast.File) bool {
	if len(spec.Values) != len(spec.Names) {
		return false
	}
	for i, v := range spec.Values {
		switch v := v.(type) {
		case *ast.CompositeLit:
		case *ast.CallExpr:
			call, ok := v.Fun.(*ast.SelectorExpr)
			sentinel := ok && call.Sel.Name == "New" && strings.HasPrefix(strings.ToLower(spec.Names[i].Name), "err")
			if !sentinel && !(ours(v.Fun, f) && !slices.ContainsFunc(v.Args, varies)) {
				return false
			}
		default:
			return false
		}
	}
	return true
}

// ours reports whether a function is of the file's own package, or of one of this module that it imports,
// which is pure as well.
func ours(fun ast.Expr, f *ast.File) bool {
	switch x := fun.(type) {
	case *ast.Ident:
		return true
	case *ast.SelectorExpr:
		from, ok := x.X.(*ast.Ident)
		return ok && slices.ContainsFunc(f.Imports, func(spec *ast.ImportSpec) bool {
			path := strings.Trim(spec.Path.Value, `"`)
			return strings.HasPrefix(path, "loambank/") && filepath.Base(path) == from.Name
		})
	}
	return false
}

// varies reports whether an argument is anything but a number or a truth value written out.
func varies(e ast.Expr) bool {
	switch x := e.(type) {
	case *ast.BasicLit:
		return false
	case *ast.BinaryExpr:
		return varies(x.X) || varies(x.Y)
	case *ast.Ident:
		return x.Name != "true" && x.Name != "false"
	}
	return true
}

// TestPurityTestSeesBreaches gives the test above a file of breaches.
func TestPurityTestSeesBreaches(t *testing.T) {
	text := `package bad

import (
	"errors"
	"math"
	"net/netip"
	"os"
	clock "time"

	"loambank/config/unit"
	"loambank/drivers/device"
)

var errGone = errors.New("gone")
var table = [...]float64{1, 2}
var memo map[string]float64
var pi = math.Acos(-1)
var warm = unit.Celsius(pi)

type Ages map[string]float64

func init() {}

func sum(a Ages, b []float64, c chan float64) (s float64) {
	for _, v := range a {
		s += v
	}
	for _, v := range b {
		s += v
	}
	table[0]++
	memo = nil
	memo["x"], s = s, <-c
	go sum(nil, nil, nil)
	clock.Sleep(clock.Second)
	c <- float64(clock.Now().Unix())
	local := table
	local[0] = 7
	return s
}

var _ netip.Addr
var _ os.FileMode
var _ unit.Celsius
var _ device.Stage
`
	var got []string
	for _, b := range newTree("..").text(t, "bad/bad.go", text).breaches([]string{"loambank/config/unit"}) {
		where, _, _ := strings.Cut(b, ": ")
		got = append(got, where)
	}
	var want []string
	for i, line := range strings.Split(text, "\n") {
		for range breachesIn(strings.TrimSpace(line)) {
			want = append(want, fmt.Sprintf("bad/bad.go:%d", i+1))
		}
	}
	slices.Sort(got)
	slices.Sort(want)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("breaches (-want +got):\n%s", diff)
	}
}

// breachesIn is how many breaches a line of the bad file has.
func breachesIn(line string) int {
	return map[string]int{
		`"net/netip"`: 1, `"os"`: 1, `"loambank/drivers/device"`: 1,
		"var memo map[string]float64": 1, "var pi = math.Acos(-1)": 1, "var warm = unit.Celsius(pi)": 1,
		"var _ netip.Addr": 1, "var _ os.FileMode": 1, "var _ unit.Celsius": 1, "var _ device.Stage": 1,
		"func init() {}": 1, "func sum(a Ages, b []float64, c chan float64) (s float64) {": 1,
		"for _, v := range a {": 1, "table[0]++": 1, "memo = nil": 1, `memo["x"], s = s, <-c`: 2,
		"go sum(nil, nil, nil)": 1, "clock.Sleep(clock.Second)": 1, "c <- float64(clock.Now().Unix())": 2,
	}[line]
}
