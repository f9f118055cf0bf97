package sodalake_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"path/filepath"
	"strings"
)

// checkSkips looks for tests that skip themselves by any other way than
// housetest, which can be told not to. Allowed are short runs (testing.Short),
// long experiments (SODALAKE_PROOF), and cases that a fuzzer or a property test
// throws back.
func checkSkips(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		if p.path == "housetest" {
			continue
		}
		for _, f := range append(append([]string(nil), p.TestGoFiles...), p.XTestGoFiles...) {
			s := &source{pack: p, fset: token.NewFileSet()}
			file, err := parser.ParseFile(s.fset, filepath.Join(p.Dir, f), nil, parser.SkipObjectResolution)
			if err != nil {
				continue
			}
			var above []ast.Node
			ast.Inspect(file, func(n ast.Node) bool {
				if n == nil {
					above = above[:len(above)-1]
					return true
				}
				if call, ok := n.(*ast.CallExpr); ok && isSkip(call) && !mayskip(above) {
					report(s.at(call), "skips a test that nothing can demand: use housetest.Need or housetest.Missing")
				}
				above = append(above, n)
				return true
			})
		}
	}
}

func isSkip(call *ast.CallExpr) bool {
	sel, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	switch sel.Sel.Name {
	case "Skip", "Skipf", "SkipNow":
		x, ok := sel.X.(*ast.Ident)
		return ok && (x.Name == "t" || x.Name == "b" || x.Name == "tb" || x.Name == "f")
	}
	return false
}

// mayskip reports whether one of the nodes around a skip excuses it.
func mayskip(above []ast.Node) bool {
	for _, n := range above {
		switch x := n.(type) {
		case *ast.IfStmt:
			cond := types.ExprString(x.Cond)
			if x.Init != nil {
				if a, ok := x.Init.(*ast.AssignStmt); ok && len(a.Rhs) > 0 {
					cond += types.ExprString(a.Rhs[0])
				}
			}
			if strings.Contains(cond, "testing.Short()") || strings.Contains(cond, "SODALAKE_PROOF") {
				return true
			}
		case *ast.CallExpr:
			if sel, ok := x.Fun.(*ast.SelectorExpr); ok && (sel.Sel.Name == "Fuzz" || sel.Sel.Name == "Check") {
				return true
			}
		}
	}
	return false
}
