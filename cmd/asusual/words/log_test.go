package words

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"log/slog"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"asusual/monitor/history"
	"asusual/monitor/mqtt"
)

// warned returns how each warning and error begins that a watch, or a page that is served, may log, by where it stands.
func warned(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, room := range []string{"../../../monitor", "../../../monitor/arrive", "../../../monitor/signal", "../../../monitor/keep", "../../../monitor/mqtt",
		"../../../monitor/history", "../../../report/live", ".."} {
		files, err := filepath.Glob(filepath.FromSlash(room + "/*.go"))
		if err != nil || len(files) == 0 {
			t.Fatalf("no source in %s: %v", room, err)
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			set := token.NewFileSet()
			tree, err := parser.ParseFile(set, file, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			ast.Inspect(tree, func(n ast.Node) bool {
				for _, begins := range logged(tree, n) {
					all[set.Position(n.Pos()).String()+" "+begins] = begins
				}
				return true
			})
		}
	}
	return all
}

// logged returns how the warnings and errors of one call begin; none where it is no such call.
func logged(tree *ast.File, n ast.Node) []string {
	call, ok := n.(*ast.CallExpr)
	if !ok {
		return nil
	}
	called, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return nil
	}
	switch x := fmt.Sprint(lastOf(called.X)); {
	case (called.Sel.Name == "Warn" || called.Sel.Name == "Error") && (x == "Log" || x == "log") && len(call.Args) > 0:
		return beginnings(tree, call.Args[0])
	case called.Sel.Name == "trouble" && len(call.Args) == 3: // of arrive, which logs it once
		return beginnings(tree, call.Args[1])
	}
	return nil
}

func lastOf(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

// beginnings returns how a text begins: what a literal says, or the first of a sum, or all that the file gives a name.
func beginnings(tree *ast.File, e ast.Expr) (all []string) {
	switch e := e.(type) {
	case *ast.BasicLit:
		s, err := strconv.Unquote(e.Value)
		if err == nil {
			return []string{s}
		}
	case *ast.BinaryExpr:
		return beginnings(tree, e.X)
	case *ast.Ident:
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.AssignStmt:
				for i, to := range n.Lhs {
					if id, ok := to.(*ast.Ident); ok && id.Name == e.Name && i < len(n.Rhs) {
						all = append(all, beginnings(tree, n.Rhs[i])...)
					}
				}
			case *ast.ValueSpec:
				for i, id := range n.Names {
					if id.Name == e.Name && i < len(n.Values) {
						all = append(all, beginnings(tree, n.Values[i])...)
					}
				}
			}
			return true
		})
	}
	return all
}

// Each warning and error of the log says what to try, or is known to have nothing to try; and nothing is kept for one that is not said.
func TestEveryWarningOfTheLogIsKnown(t *testing.T) {
	messages := warned(t)
	if len(messages) < 45 {
		t.Fatalf("%d warnings and errors were found in the source, want all of them", len(messages))
	}
	used := map[string]bool{}
	for at, message := range messages {
		if _, known := TryAfter(message, nil); !known {
			t.Errorf("%s: nothing says what to try after it, or that there is nothing", at)
		}
		for _, try := range triesOfLog {
			if strings.HasPrefix(message, try.begins) {
				used[try.begins] = true
				break
			}
		}
	}
	for i, try := range triesOfLog {
		if !used[try.begins] {
			t.Errorf("%q is kept, and no message begins so, or one before it takes all", try.begins)
		}
		for _, before := range triesOfLog[:i] {
			if strings.HasPrefix(try.begins, before.begins) {
				t.Errorf("%q stands behind %q, which takes its messages", try.begins, before.begins)
			}
		}
	}
}

// What is known of the reason goes before what is known of the message, and that before what goes by the system's error.
func TestAWarningSaysWhatToTry(t *testing.T) {
	for _, c := range []struct {
		message string
		reason  error
		want    string
	}{
		{"the broker is away; trying again", &mqtt.Refusal{Of: "the connection"}, "user and password-file"},
		{"the broker is away; trying again", &fs.PathError{Op: "dial", Path: "x", Err: fs.ErrPermission}, "asusual doctor tries it"},
		{"history cannot be written; judging waits, nothing is lost", history.ErrFull, "make room on the disk"},
		{"history cannot be written; judging waits, nothing is lost", nil, "asusual doctor looks at both"},
		{"the live page cannot show the groups", fs.ErrPermission, "ask for the right"},
		{"judged before, left out", nil, ""},
		{"something that nobody ever said", nil, ""},
	} {
		for _, json := range []bool{false, true} {
			var out bytes.Buffer
			var h slog.Handler = slog.NewTextHandler(&out, nil)
			if json {
				h = slog.NewJSONHandler(&out, nil)
			}
			log := slog.New(Advising{h}).With("line", "a")
			if c.reason != nil {
				log.Error(c.message, "file", "f", "reason", fmt.Errorf("f: %w", c.reason))
			} else {
				log.Warn(c.message, "file", "f")
			}
			got := out.String()
			if strings.Count(got, "\n") != 1 || !strings.Contains(got, c.want) || strings.Contains(got, "try=") && c.want == "" || strings.Contains(got, `"try"`) && c.want == "" {
				t.Errorf("%s, %v, logged as %s, want %q in one line", c.message, c.reason, got, c.want)
			}
			out.Reset()
			log.Info(c.message, "reason", history.ErrFull)
			if strings.Contains(out.String(), "try") && !strings.Contains(c.message, "try") {
				t.Errorf("what is no warning says what to try: %s", out.String())
			}
		}
	}
}
