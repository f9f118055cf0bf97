package sodalake_test

import (
	"go/ast"
	"go/token"
	"go/types"
	"regexp"
	"strings"
	"testing"
)

// unitWords are what may stand first in square brackets behind a number. The
// last line is for tools that take any quantity.
var unitWords = set(`
	1 % ‰ ppm ppb
	m cm mm µm nm km ha AU
	L mL µL kL gal
	g kg mg µg ng t
	mol mmol µmol nmol kmol eq meq M mM µM
	s min h d day days a yr year years hour hours week weeks month months
	°C K °F ° deg degrees rad
	Pa kPa hPa MPa bar mbar atm
	W mW kW J kJ MJ Wh kWh
	V A Ah C F Ω ohm S mS µS
	Hz lx bp kb count counts okta oktas octas cells filaments
	ln log log10 pH currency money
	any inner unit same own its
`)

var bracketed = regexp.MustCompile(`\[([^\[\]]+)\]`)

// isUnit reports whether what stands in square brackets is a unit, perhaps with
// a scale or basis behind it: "mol/kg water", "1, free scale", "g·L⁻¹".
func isUnit(s string) bool {
	first := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune("/·* ,;:^()", r) })
	if len(first) == 0 {
		return false
	}
	if unitWords[first[0]] {
		return true
	}
	return unitWords[strings.TrimRight(first[0], "-0123456789⁻¹²³⁴")]
}

// units returns where units in square brackets stand in a comment.
func unitsIn(text string) [][2]int {
	var out [][2]int
	for _, m := range bracketed.FindAllStringSubmatchIndex(text, -1) {
		if isUnit(text[m[2]:m[3]]) {
			out = append(out, [2]int{m[0], m[1]})
		}
	}
	return out
}

// reach is how far behind its name a parameter's unit may stand [bytes].
const reach = 240

// unitOf returns the index among units of the one that follows a name, or -1.
func unitOf(name, text string, units [][2]int) int {
	for _, at := range regexp.MustCompile(`(^|[^\pL\pN_])`+regexp.QuoteMeta(name)+`([^\pL\pN_]|$)`).FindAllStringIndex(text, -1) {
		for i, u := range units {
			if u[0] >= at[0] && u[0]-at[1] <= reach {
				return i
			}
		}
	}
	return -1
}

// flat joins a comment into one line.
func flat(doc *ast.CommentGroup) string {
	if doc == nil {
		return ""
	}
	return strings.Join(strings.Fields(doc.Text()), " ")
}

// number reports whether a type is a floating-point number or holds nothing
// else: a slice, array, pointer or map of such. A named array or struct tells
// its units where it is declared.
func number(t types.Type) bool {
	switch u := t.(type) {
	case *types.Named:
		b, ok := u.Underlying().(*types.Basic)
		return ok && b.Info()&types.IsFloat != 0
	case *types.Alias:
		return number(types.Unalias(u))
	case *types.Basic:
		return u.Info()&types.IsFloat != 0
	case *types.Slice:
		return number(u.Elem())
	case *types.Array:
		return number(u.Elem())
	case *types.Pointer:
		return number(u.Elem())
	case *types.Map:
		return number(u.Elem())
	}
	return false
}

func (s *source) isNumber(e ast.Expr) bool {
	if v, ok := e.(*ast.Ellipsis); ok {
		e = v.Elt
	}
	tv, ok := s.info.Types[e]
	return ok && tv.Type != nil && number(tv.Type)
}

// exportedFuncs calls f for each exported function of science and each exported
// method of an exported type.
func exportedFuncs(h *house, f func(s *source, d *ast.FuncDecl)) {
	for _, p := range h.pkgs {
		if !p.inScience() {
			continue
		}
		s := h.source(p)
		for _, file := range s.files {
			for _, d := range file.Decls {
				fd, ok := d.(*ast.FuncDecl)
				if ok && fd.Name.IsExported() && (fd.Recv == nil || ast.IsExported(receiver(fd))) {
					f(s, fd)
				}
			}
		}
	}
}

// receiver returns the name of a method's type.
func receiver(d *ast.FuncDecl) string {
	e := d.Recv.List[0].Type
	for {
		switch x := e.(type) {
		case *ast.StarExpr:
			e = x.X
		case *ast.IndexExpr:
			e = x.X
		case *ast.IndexListExpr:
			e = x.X
		case *ast.Ident:
			return x.Name
		default:
			return ""
		}
	}
}

func funcName(d *ast.FuncDecl) string {
	if d.Recv != nil {
		return receiver(d) + "." + d.Name.Name
	}
	return d.Name.Name
}

func checkParameterUnits(h *house, report func(where, what string)) {
	exportedFuncs(h, func(s *source, d *ast.FuncDecl) {
		text := flat(d.Doc)
		units := unitsIn(text)
		for _, field := range d.Type.Params.List {
			if !s.isNumber(field.Type) {
				continue
			}
			for _, name := range field.Names {
				if name.Name != "_" && unitOf(name.Name, text, units) < 0 {
					report(s.at(d), funcName(d)+": no unit in square brackets follows the parameter "+name.Name)
				}
			}
		}
	})
}

// checkResultUnits wants a unit for the result: behind its name, or in the
// first sentence, or at least one more than the parameters use up.
func checkResultUnits(h *house, report func(where, what string)) {
	exportedFuncs(h, func(s *source, d *ast.FuncDecl) {
		if d.Type.Results == nil {
			return
		}
		text := flat(d.Doc)
		units := unitsIn(text)
		used := map[int]bool{}
		for _, field := range d.Type.Params.List {
			for _, name := range field.Names {
				if i := unitOf(name.Name, text, units); i >= 0 && s.isNumber(field.Type) {
					used[i] = true
				}
			}
		}
		first := len(text)
		if i := strings.Index(text, ". "); i >= 0 {
			first = i
		}
		spare := len(units) > len(used) || len(units) > 0 && units[0][0] < first
		for _, field := range d.Type.Results.List {
			if !s.isNumber(field.Type) || spare {
				continue
			}
			named := len(field.Names) > 0
			for _, name := range field.Names {
				named = named && unitOf(name.Name, text, units) >= 0
			}
			if !named {
				report(s.at(d), funcName(d)+": no unit in square brackets tells what the result is in")
				return
			}
		}
	})
}

func checkFieldUnits(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		if !p.inScience() {
			continue
		}
		s := h.source(p)
		for _, file := range s.files {
			for _, d := range file.Decls {
				g, ok := d.(*ast.GenDecl)
				if !ok || g.Tok != token.TYPE {
					continue
				}
				for _, spec := range g.Specs {
					t := spec.(*ast.TypeSpec)
					if st, ok := t.Type.(*ast.StructType); ok && t.Name.IsExported() {
						s.fieldUnits(t.Name.Name, st, report)
					}
				}
			}
		}
	}
}

func (s *source) fieldUnits(name string, st *ast.StructType, report func(where, what string)) {
	for _, f := range st.Fields.List {
		if !s.isNumber(f.Type) || len(unitsIn(flat(f.Comment)+" "+flat(f.Doc))) > 0 {
			continue
		}
		for _, n := range f.Names {
			if n.IsExported() {
				report(s.at(f), name+"."+n.Name+": no unit in square brackets in its comment")
			}
		}
	}
}

func TestIsUnit(t *testing.T) {
	for _, s := range []string{"1", "°C", "mol/kg water", "mol·kg⁻¹·atm⁻¹", "µmol/m²/s", "W/m²", "1, free scale", "m²", "1/d", "g/L", "inner unit of k", "any", "%", "mS/cm at 25 °C", "m⁻¹", "L"} {
		if !isUnit(s) {
			t.Errorf("[%s] is a unit", s)
		}
	}
	for _, s := range []string{"Water", "Solver.Solve", "num.Band", "Kind", "", "0, 1", "i", "x", "Parse"} {
		if isUnit(s) {
			t.Errorf("[%s] is no unit", s)
		}
	}
}
