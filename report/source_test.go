package report

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// walk goes through the source of some files of the module but their tests, as ast.Inspect does.
func walk(t *testing.T, pattern string, visit func(ast.Node) bool) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", filepath.FromSlash(pattern)))
	if err != nil || len(files) == 0 {
		t.Fatalf("no source of %s: %v", pattern, err)
	}
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), f, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, visit)
	}
}

// text returns what a literal holds; ok is false where it is no text.
func text(e ast.Node) (s string, ok bool) {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(lit.Value)
	return s, err == nil
}

// someWords matches a text of more than one word.
var someWords = regexp.MustCompile(`[a-z]{2,} [a-z(#%]`)

// literals returns the texts of some words in the source of some files that a page may say.
func literals(t *testing.T, pattern string) (all []string) {
	t.Helper()
	walk(t, pattern, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec, *ast.Field:
			return false
		case *ast.CallExpr: // what the log and a command say does not come to a page
			if called, ok := n.Fun.(*ast.SelectorExpr); ok && (called.Sel.Name == "say" || slices.Contains([]string{"Log", "log"}, lastName(called.X))) {
				return false
			}
		}
		if s, ok := text(n); ok && someWords.MatchString(s) {
			all = append(all, s)
		}
		return true
	})
	return all
}

// lastName is what an expression ends with, such as Log of line.Log.
func lastName(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

// constants returns the texts of all constants of a type.
func constants(t *testing.T, pattern, of string) (all []string) {
	t.Helper()
	walk(t, pattern, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if name, ok := spec.Type.(*ast.Ident); !ok || name.Name != of {
			return true
		}
		for _, v := range spec.Values {
			if s, ok := text(v); ok {
				all = append(all, s)
			}
		}
		return true
	})
	return all
}
