package words

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"asusual/cmd/asusual/config"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/mqtt"
)

// Errors that a watch waits out, or ends with, say what to try.
func TestHintsOfHistoryAndBroker(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{history.ErrBusy, "end what holds it"},
		{history.ErrTwoHistories, "asusual export of both"},
		{history.ErrFarBehind, "a newer copy of the server's history"},
		{history.ErrAway, "whether the server runs"},
		{fmt.Errorf("postgres://db:5432/plant: %w (permission denied for table file)", history.ErrReadOnly), "asusual doctor"},
		{fmt.Errorf("/plant/asusual.history: %w", history.ErrReadOnly), "the right to write that file"},
		{history.ErrNewer, "the backup of before the update"},
		{history.ErrNoEntry, "the password in PGPASSWORD"},
		{&mqtt.Refusal{Of: "the connection"}, "user and password-file"},
		{mqtt.ErrMalformed, "a broker that speaks MQTT 5"},
	} {
		if got := Hint(fmt.Errorf("line a: %w", c.err)); !strings.Contains(got, c.want) {
			t.Errorf("Hint(%v) = %q, want %q in it", c.err, got, c.want)
		}
	}
}

// Whoever says that something is missing says what to try, which is the hint whatever the text is about.
func TestWhatIsMissingSaysWhatToTry(t *testing.T) {
	var names []string
	for _, pattern := range []string{"../*.go", "../config/*.go"} {
		found, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, found...)
	}
	n := 0
	for _, name := range names {
		tree, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, func(node ast.Node) bool {
			made, ok := node.(*ast.CompositeLit)
			if !ok || strings.HasSuffix(name, "_test.go") {
				return true
			}
			what, is := made.Type.(*ast.Ident)
			if of, ok := made.Type.(*ast.SelectorExpr); ok {
				what, is = of.Sel, true
			}
			if !is || what.Name != "Missing" {
				return true
			}
			n++
			if len(made.Elts) != 2 {
				t.Errorf("%s makes a Missing of %d parts, want what is missing and what to try", name, len(made.Elts))
			}
			return true
		})
	}
	if n < 13 {
		t.Errorf("%d places say that something is missing, want all of them", n)
	}
	for _, what := range []string{"no [line.items] says how", "nothing tells dark; [[line.instrument.check]] does", "the condition \"line 3\" has no spectra", "no reference"} {
		err := fmt.Errorf("line a: %w", &config.Missing{What: what, Try: "this"})
		if got := Hint(err); got != "this" {
			t.Errorf("Hint(%v) = %q, want what it says itself", err, got)
		}
	}
	_, err := (&config.Config{}).Find("")
	if got := Hint(errors.Join(err)); !strings.HasPrefix(got, "asusual init FOLDER") {
		t.Errorf("Hint(%v) = %q, want asusual init", err, got)
	}
}

// What is to be tried after an error that doctor may meet has its German: every hint of a model, a history and the system, and that of
// a reference that nobody approved.
func TestDoctorsHintsInGerman(t *testing.T) {
	tree, err := parser.ParseFile(token.NewFileSet(), "hint.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	hints := []string{Hint(monitor.ErrNotApproved)}
	for _, d := range tree.Decls {
		f, ok := d.(*ast.FuncDecl)
		if !ok || f.Name.Name != "ofModel" && f.Name.Name != "ofHistory" && f.Name.Name != "ofSystem" {
			continue
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if r, ok := n.(*ast.ReturnStmt); ok {
				hints = append(hints, plain(t, r.Results[0]))
			}
			return true
		})
	}
	if len(hints) < 20 {
		t.Errorf("%d hints were found, want all of them", len(hints))
	}
	for _, h := range hints {
		if h != "" && (hintsGerman()[h] == "" || hintsGerman()[h] == h) {
			t.Errorf("the hint %q has no German", h)
		}
	}
	if got, want := HintIn("de", fmt.Errorf("a: %w", history.ErrFull)), "Platz auf der Platte schaffen"; got != want {
		t.Errorf("HintIn(de, %v) = %q, want %q", history.ErrFull, got, want)
	}
	if got, want := HintIn("", history.ErrFull), Hint(history.ErrFull); got != want {
		t.Errorf("HintIn(\"\", %v) = %q, want %q", history.ErrFull, got, want)
	}
}

// plain is the value of a text that is put together of constants.
func plain(t *testing.T, e ast.Expr) string {
	t.Helper()
	switch e := e.(type) {
	case *ast.BinaryExpr:
		return plain(t, e.X) + plain(t, e.Y)
	case *ast.BasicLit:
		s, err := strconv.Unquote(e.Value)
		if err != nil {
			t.Fatal(err)
		}
		return s
	case *ast.SelectorExpr:
		return config.Name
	}
	t.Fatalf("a hint is made of %T", e)
	return ""
}
