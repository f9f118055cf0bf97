package sodalake_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"path"
	"path/filepath"
	"strconv"
	"strings"
)

// source is the parsed files of a package that are not tests, with what is
// known of the names in them. Other packages are taken as empty, so that a
// neighbour that does not build hides nothing.
type source struct {
	pack  *pack
	files []*ast.File
	fset  *token.FileSet
	info  *types.Info
	types *types.Package
}

// at names the place of a node: "science/air/air.go:12".
func (s *source) at(n ast.Node) string {
	p := s.fset.Position(n.Pos())
	return path.Join(s.pack.path, filepath.Base(p.Filename)) + ":" + strconv.Itoa(p.Line)
}

// empty imports every package as one without contents.
type empty struct{}

func (empty) Import(imported string) (*types.Package, error) {
	name := path.Base(imported)
	if len(name) > 1 && name[0] == 'v' && strings.Trim(name[1:], "0123456789") == "" {
		name = path.Base(path.Dir(imported))
	}
	p := types.NewPackage(imported, name)
	p.MarkComplete()
	return p, nil
}

// source parses a package, once.
func (h *house) source(p *pack) *source {
	if s := h.parsed[p]; s != nil {
		return s
	}
	s := &source{pack: p, fset: token.NewFileSet(), info: &types.Info{
		Types: map[ast.Expr]types.TypeAndValue{},
		Uses:  map[*ast.Ident]types.Object{},
		Defs:  map[*ast.Ident]types.Object{},
	}}
	for _, f := range p.GoFiles {
		file, err := parser.ParseFile(s.fset, filepath.Join(p.Dir, f), nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil && file == nil {
			continue // the compiler says so better
		}
		s.files = append(s.files, file)
	}
	conf := types.Config{Importer: empty{}, Error: func(error) {}}
	s.types, _ = conf.Check(p.ImportPath, s.fset, s.files, s.info)
	if h.parsed == nil {
		h.parsed = map[*pack]*source{}
	}
	h.parsed[p] = s
	return s
}

// Functions that read the clock or wait for it, and those of math/rand/v2 that
// do not draw from the one source that everybody shares.
var (
	clockFuncs = set("Now Since Until Sleep After AfterFunc Tick NewTimer NewTicker")
	ownRandom  = set("New NewPCG NewChaCha8 NewZipf Rand Source PCG ChaCha8 Zipf")
)

func set(words string) map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(words) {
		m[w] = true
	}
	return m
}

func checkClock(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		if !p.inScience() && p.path != "farm" && !strings.HasPrefix(p.path, "farm/") {
			continue
		}
		s := h.source(p)
		for _, f := range s.files {
			ast.Inspect(f, func(n ast.Node) bool {
				sel, ok := n.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				x, ok := sel.X.(*ast.Ident)
				if !ok {
					return true
				}
				of, ok := s.info.Uses[x].(*types.PkgName)
				switch {
				case !ok:
				case of.Imported().Path() == "time" && clockFuncs[sel.Sel.Name]:
					report(s.at(n), "uses time."+sel.Sel.Name)
				case of.Imported().Path() == "math/rand/v2" && !ownRandom[sel.Sel.Name]:
					report(s.at(n), "draws rand."+sel.Sel.Name+" from the source that all share")
				}
				return true
			})
		}
	}
}

// checkGlobalState looks for package variables of science that are not tables:
// such as start empty, could be constants, or are written to after the start.
func checkGlobalState(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		if !p.inScience() {
			continue
		}
		s := h.source(p)
		for _, f := range s.files {
			for _, d := range f.Decls {
				switch d := d.(type) {
				case *ast.GenDecl:
					if d.Tok != token.VAR {
						continue
					}
					for _, spec := range d.Specs {
						v := spec.(*ast.ValueSpec)
						if what := stateful(d, v); what != "" {
							report(s.at(v), v.Names[0].Name+" "+what)
						}
					}
				case *ast.FuncDecl:
					if d.Body != nil && !(d.Name.Name == "init" && d.Recv == nil) {
						s.writes(d.Body, func(n ast.Node, name string) {
							report(s.at(n), "writes to the package variable "+name)
						})
					}
				}
			}
		}
	}
}

// stateful says why a package variable is not a table, or "".
func stateful(g *ast.GenDecl, v *ast.ValueSpec) string {
	if v.Names[0].Name == "_" {
		return ""
	}
	if t, ok := v.Type.(*ast.SelectorExpr); ok {
		if x, ok := t.X.(*ast.Ident); ok && (x.Name == "sync" || x.Name == "atomic") {
			return "is shared state"
		}
	}
	if len(v.Values) == 0 {
		for _, doc := range []*ast.CommentGroup{g.Doc, v.Doc} {
			if doc != nil {
				for _, c := range doc.List {
					if strings.HasPrefix(c.Text, "//go:embed ") {
						return ""
					}
				}
			}
		}
		return "starts empty: something must write to it"
	}
	if _, ok := v.Values[0].(*ast.BasicLit); ok {
		return "could be a constant"
	}
	return ""
}

// writes calls found for each statement of body that assigns to a package
// variable or to a part of one.
func (s *source) writes(body ast.Node, found func(n ast.Node, name string)) {
	target := func(n ast.Node, e ast.Expr) {
		for {
			switch x := e.(type) {
			case *ast.IndexExpr:
				e = x.X
			case *ast.SelectorExpr:
				e = x.X
			case *ast.StarExpr:
				e = x.X
			case *ast.ParenExpr:
				e = x.X
			case *ast.Ident:
				if v, ok := s.info.Uses[x].(*types.Var); ok && s.types != nil && v.Parent() == s.types.Scope() {
					found(n, x.Name)
				}
				return
			default:
				return
			}
		}
	}
	ast.Inspect(body, func(n ast.Node) bool {
		switch st := n.(type) {
		case *ast.AssignStmt:
			if st.Tok != token.DEFINE {
				for _, e := range st.Lhs {
					target(n, e)
				}
			}
		case *ast.IncDecStmt:
			target(n, st.X)
		case *ast.CallExpr:
			if f, ok := st.Fun.(*ast.Ident); ok && (f.Name == "delete" || f.Name == "clear") && len(st.Args) > 0 {
				target(n, st.Args[0])
			}
		}
		return true
	})
}
