package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// rooms are all packages of the module, in the order of the data: a room may import only rooms above it.
var rooms = []string{
	"model/finding",
	"model/spectrum",
	"model/published",
	"model/fourier",
	"model/light",
	"model/project",
	"model/fitness",
	"model/check",
	"model/item",
	"model/intake",
	"model/pretreat",
	"model/detector",
	"model/stretch",
	"model/position",
	"model/memory",
	"model/runner",
	"model/limits",
	"model/holdout",
	"model/sift",
	"model/reach",
	"model/condition",
	"model/verdict",
	"model/alarm",
	"model/compare",
	"model/oatline",
	"model",
	"monitor/keep",
	"monitor/history/testserver",
	"monitor/history",
	"monitor/archive",
	"monitor/arrive",
	"monitor",
	"monitor/mqtt",
	"monitor/signal",
	"report/chart",
	"report/browser",
	"report/tag",
	"report",
	"report/live",
	"cmd/asusual/shift",
	"cmd/asusual/config",
	"cmd/asusual/gather",
	"cmd/asusual/words",
	"cmd/asusual/pages",
	"cmd/asusual",
}

// outside says in which rooms a package from outside may stand: the room itself and those in it.
var outside = []struct {
	prefix string
	rooms  []string
}{
	{"github.com/fsnotify/fsnotify", []string{"monitor/arrive"}},
	{"github.com/BurntSushi/toml", []string{"cmd"}},
	{"github.com/spf13/cobra", []string{"cmd"}},
	{"github.com/spf13/pflag", []string{"cmd"}}, // the types of cobra's flags
	{"modernc.org/sqlite", []string{"monitor/history"}},
	{"github.com/jackc/pgx/v5", []string{"monitor/history"}},
	{"gonum.org/v1/plot", []string{"report/chart"}},
	{"git.sr.ht/~sbinet/gg", []string{"report/chart"}},
	{"codeberg.org/go-fonts/liberation", []string{"report/chart"}}, // the faces that gonum/plot draws with
	{"golang.org/x/image", []string{"report/chart"}},
	// On Windows the lock of a file, the job of a command; on Linux what a listing has to know of a file, and no more.
	{"golang.org/x/sys", []string{"monitor/arrive", "monitor/keep", "monitor/signal"}},
	{"gonum.org/v1/gonum", []string{"model"}}, // and in the tools of the repository, below
}

// inTests says what test files of every room may import besides what their room may, and besides all rooms of the
// module: numbers to compare with, pictures to compare with, scripts of the whole program.
var inTests = []string{"gonum.org/v1/gonum", "gonum.org/v1/plot/cmpimg", "github.com/rogpeppe/go-internal"}

// atTheTop is all that stands at the top level, beside files whose names begin with a dot.
var atTheTop = []string{
	"cmd", "monitor", "model", "report", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE",
}

const (
	module   = "asusual/"
	root     = "../.."
	maxLines = 400 // of a file
	maxFunc  = 70  // lines of a function
)

// in reports whether a path is the folder or lies in it.
func in(name, folder string) bool { return name == folder || strings.HasPrefix(name, folder+"/") }

// A source is one Go file of the module.
type source struct {
	room, name string // slashes; the name from the top of the module
	test       bool
	file       *ast.File
	set        *token.FileSet
}

// sources parses every Go file of the module.
func sources(t *testing.T) []source {
	t.Helper()
	var all []source
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && p != root && (d.Name() == "testdata" || strings.HasPrefix(d.Name(), ".") && d.Name() != "..") {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(p, ".go") {
			return nil
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		s := source{name: filepath.ToSlash(rel), set: token.NewFileSet(), test: strings.HasSuffix(p, "_test.go")}
		s.room = path.Dir(s.name)
		s.file, err = parser.ParseFile(s.set, p, nil, parser.ParseComments|parser.SkipObjectResolution)
		all = append(all, s)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < len(rooms) {
		t.Fatalf("found %d Go files for %d rooms", len(all), len(rooms))
	}
	return all
}

// imports returns the paths that the file imports.
func (s source) imports(t *testing.T) []string {
	t.Helper()
	var ps []string
	for _, spec := range s.file.Imports {
		p, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			t.Fatalf("%s: import %s: %v", s.name, spec.Path.Value, err)
		}
		ps = append(ps, p)
	}
	return ps
}

// isTool reports whether a room is a tool of the repository, which may import every room, as tools are the last.
func isTool(room string) bool { return in(room, "cmd") && !in(room, "cmd/asusual") }

func TestRoomsImportOnlyRoomsAbove(t *testing.T) {
	for _, s := range sources(t) {
		place := slices.Index(rooms, s.room)
		if place < 0 && !isTool(s.room) {
			t.Errorf("%s: the room %q is not in the list of rooms", s.name, s.room)
			continue
		}
		for _, p := range s.imports(t) {
			other, ours := strings.CutPrefix(p, module)
			if !ours || s.test || isTool(s.room) {
				continue
			}
			if at := slices.Index(rooms, other); at < 0 || at >= place {
				t.Errorf("%s imports %s, which does not stand above it", s.name, other)
			}
			if other == "model/oatline" && !in(s.room, "cmd") {
				t.Errorf("%s imports the invented line; only cmd and tests may", s.name)
			}
		}
	}
}

func TestOutsidePackagesStayInTheirRoom(t *testing.T) {
	for _, s := range sources(t) {
		for _, p := range s.imports(t) {
			if !strings.Contains(strings.Split(p, "/")[0], ".") { // the standard library and this module
				continue
			}
			if s.test && slices.ContainsFunc(inTests, func(a string) bool { return in(p, a) }) {
				continue
			}
			if isTool(s.room) && in(p, "gonum.org/v1/gonum") {
				continue
			}
			i := slices.IndexFunc(outside, func(o struct {
				prefix string
				rooms  []string
			}) bool {
				return in(p, o.prefix)
			})
			if i < 0 {
				t.Errorf("%s imports %s, which is not in the list of packages from outside", s.name, p)
				continue
			}
			if !slices.ContainsFunc(outside[i].rooms, func(r string) bool { return in(s.room, r) }) {
				t.Errorf("%s imports %s, which may stand only in %s", s.name, p, strings.Join(outside[i].rooms, ", "))
			}
		}
	}
}

// forTests is the one room of the model that reads files and runs programs: what tests compare with. Tests alone import it.
const forTests = "model/published"

// The model is pure: no file, network, clock, log or goroutine; and no room has an init.
func TestModelIsPure(t *testing.T) {
	impure := []string{"os", "net", "log", "path/filepath", "math/rand", "database/sql", "testing"}
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		model := in(s.room, "model") && s.room != forTests
		for _, p := range s.imports(t) {
			if p == "asusual/"+forTests {
				t.Errorf("%s imports %s, which is for tests alone", s.name, p)
			}
			if model && slices.ContainsFunc(impure, func(q string) bool { return in(p, q) && p != "math/rand/v2" }) {
				t.Errorf("%s imports %s; the model is handed values and readers", s.name, p)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GoStmt:
				if model {
					t.Errorf("%s: a goroutine in the model", s.set.Position(n.Pos()))
				}
			case *ast.SelectorExpr:
				x, ok := n.X.(*ast.Ident)
				if model && ok && x.Name == "time" && slices.Contains([]string{"Now", "Since", "Until", "Sleep", "After", "Tick"}, n.Sel.Name) {
					t.Errorf("%s: time.%s in the model, which is told the time", s.set.Position(n.Pos()), n.Sel.Name)
				}
			case *ast.FuncDecl:
				if n.Recv == nil && n.Name.Name == "init" {
					t.Errorf("%s: an init", s.set.Position(n.Pos()))
				}
			}
			return true
		})
	}
}

// Every room says in doc.go what it is for.
func TestEveryRoomHasADoc(t *testing.T) {
	docs := map[string]string{}
	seen := map[string]bool{}
	for _, s := range sources(t) {
		if !s.test {
			seen[s.room] = true
		}
		if path.Base(s.name) == "doc.go" && s.file.Doc != nil {
			docs[s.room] = s.file.Doc.Text()
		}
	}
	for room := range seen {
		want := "Package " + path.Base(room) + " "
		if in(room, "cmd") && !strings.HasPrefix(docs[room], "Package ") {
			want = "Command " + path.Base(room) + " "
		}
		if !strings.HasPrefix(docs[room], want) {
			t.Errorf("%s/doc.go begins with %.40q, want a comment that begins with %q", room, docs[room], want)
		}
	}
	for _, room := range rooms {
		if !seen[room] {
			t.Errorf("the list of rooms has %q, which has no Go file", room)
		}
	}
}

// A file that grows for ever and a function that does everything are seen early.
func TestFilesAndFunctionsStaySmall(t *testing.T) {
	for _, s := range sources(t) {
		if n := s.set.File(s.file.Pos()).LineCount(); n > maxLines && !s.test {
			t.Errorf("%s has %d lines, want at most %d", s.name, n, maxLines)
		}
		for _, d := range s.file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok || s.test || isTable(f) {
				continue
			}
			if n := s.set.Position(f.End()).Line - s.set.Position(f.Pos()).Line + 1; n > maxFunc {
				t.Errorf("%s: %s has %d lines, want at most %d", s.name, f.Name.Name, n, maxFunc)
			}
		}
	}
}

// isTable reports whether a function does nothing but return a literal: a table, as long as what it holds.
func isTable(f *ast.FuncDecl) bool {
	if f.Body == nil || len(f.Body.List) != 1 {
		return false
	}
	r, ok := f.Body.List[0].(*ast.ReturnStmt)
	if !ok || len(r.Results) != 1 {
		return false
	}
	_, ok = r.Results[0].(*ast.CompositeLit)
	return ok
}

// The top level holds what it should and no more, but for what git leaves out.
func TestTopLevel(t *testing.T) {
	ignored, err := os.ReadFile(filepath.Join(root, ".gitignore"))
	if err != nil {
		t.Fatal(err)
	}
	leave := strings.Fields(string(ignored))
	entries, err := os.ReadDir(root)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]bool{}
	for _, e := range entries {
		name := e.Name()
		found[name] = true
		if strings.HasPrefix(name, ".") || slices.Contains(atTheTop, name) ||
			slices.Contains(leave, "/"+name) || slices.Contains(leave, "/"+name+"/") {
			continue
		}
		t.Errorf("%s stands at the top level, where only %s may", name, strings.Join(atTheTop, ", "))
	}
	for _, name := range atTheTop {
		if !found[name] {
			t.Errorf("%s is missing at the top level", name)
		}
	}
}

// Who calls methods by name makes the linker keep every exported method of the program, a seventh of its size. Templates do.
func TestNothingCallsMethodsByName(t *testing.T) {
	byName := []string{"MethodByName", "SetHelpTemplate", "SetUsageTemplate", "SetVersionTemplate"}
	for _, s := range sources(t) {
		if s.test || isTool(s.room) {
			continue
		}
		for _, p := range s.imports(t) {
			if p == "text/template" || p == "html/template" {
				t.Errorf("%s imports %s; pages are written by report/tag, texts by strings.Replacer", s.name, p)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if n, ok := n.(*ast.SelectorExpr); ok && slices.Contains(byName, n.Sel.Name) {
				t.Errorf("%s: %s calls methods by name", s.set.Position(n.Pos()), n.Sel.Name)
			}
			return true
		})
	}
}
