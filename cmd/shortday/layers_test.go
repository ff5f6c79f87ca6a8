package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const top = "../.."

// layers in the order in which arrows may go: to a later one, or to the same.
var layers = []string{"shortday/cmd", "shortday/bot", "shortday/scheduler", "shortday/knowledge"}

// only names who may import what.
var only = map[string][]string{
	"github.com/bwmarrin/discordgo": {"shortday/bot/discord"},
	"modernc.org/sqlite":            {"shortday/knowledge/register"},
	"github.com/pressly/goose":      {"shortday/knowledge/register"},
	"database/sql":                  {"shortday/knowledge/register", "shortday/scheduler"},
	"github.com/robfig/cron":        {"shortday/scheduler"},
	"github.com/riverqueue/river":   {"shortday/scheduler"},
	"github.com/gofrs/flock":        {"shortday/scheduler"},
	"github.com/alecthomas/kong":    {"shortday/cmd"},
	"golang.org/x/term":             {"shortday/bot/terminal"},
}

type pkg struct{ imports, deps []string }

func TestLayers(t *testing.T) {
	t.Parallel()
	all := packages(t)
	t.Run("arrows never turn back", func(t *testing.T) { arrows(t, all) })
	t.Run("adapters know nothing of the trade", func(t *testing.T) { adapters(t, all) })
	t.Run("knowledge is pure", func(t *testing.T) { purity(t, all) })
}

func arrows(t *testing.T, all map[string]pkg) {
	for path, p := range all {
		from := layer(path)
		require.GreaterOrEqual(t, from, 0, "%s is in no layer", path)
		for _, to := range p.imports {
			if in(to, "shortday") {
				require.LessOrEqual(t, from, layer(to), "%s imports %s", path, to)
			}
			for what, who := range only {
				if in(to, what) {
					require.True(t, slices.ContainsFunc(who, func(w string) bool { return in(path, w) }), "%s imports %s", path, to)
				}
			}
		}
	}
}

// What carries questions and answers knows days and refusals, and nothing of the trade.
func adapters(t *testing.T, all map[string]pkg) {
	for path, p := range all {
		if !in(path, "shortday/bot") || in(path, "shortday/bot/requests") || in(path, "shortday/bot/picture") {
			continue
		}
		for _, to := range p.imports {
			known := to == "shortday/knowledge/calendar" || to == "shortday/knowledge/fault"
			require.False(t, in(to, "shortday/knowledge") && !known, "%s imports %s", path, to)
			require.NotEqual(t, "shortday/bot/requests", to, path)
		}
	}
}

func purity(t *testing.T, all map[string]pkg) {
	pure := 0
	for path, p := range all {
		if !in(path, "shortday/knowledge") || in(path, "shortday/knowledge/register") {
			continue
		}
		pure++
		for _, to := range []string{"os", "io/fs", "log", "log/slog", "context", "math/rand", "math/rand/v2"} {
			require.NotContains(t, p.imports, to, path)
		}
		for _, to := range []string{"net", "net/http", "os/exec", "database/sql"} {
			require.NotContains(t, p.deps, to, path)
		}
	}
	require.Greater(t, pure, 3)
}

// The clock is read in one place, and nothing runs before main.
func TestOneClockAndNoInit(t *testing.T) {
	t.Parallel()
	var clocks []string
	require.NoError(t, filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != top && strings.HasPrefix(d.Name(), ".") {
			return fs.SkipDir
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		require.NotEqual(t, top, filepath.Dir(path), "no Go at top level")
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for node := range ast.Preorder(file) {
			switch n := node.(type) {
			case *ast.FuncDecl:
				require.False(t, n.Recv == nil && n.Name.Name == "init", "%s has an init", path)
			case *ast.SelectorExpr:
				if x, ok := n.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains([]string{"Now", "Since", "Until"}, n.Sel.Name) {
					clocks = append(clocks, filepath.ToSlash(path))
				}
			}
		}
		return nil
	}))
	require.Equal(t, []string{"../../cmd/shortday/run.go"}, clocks)
}

func TestTopLevelHoldsWhatTheDesignNames(t *testing.T) {
	t.Parallel()
	named := []string{"cmd", "bot", "scheduler", "knowledge", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md"}
	ignored, err := os.ReadFile(filepath.Join(top, ".gitignore"))
	require.NoError(t, err)
	entries, err := os.ReadDir(top)
	require.NoError(t, err)
	for _, e := range entries {
		mine := slices.ContainsFunc(strings.Fields(string(ignored)), func(pattern string) bool {
			match, err := filepath.Match(strings.Trim(pattern, "/"), e.Name())
			return match && err == nil
		})
		if !mine && !strings.HasPrefix(e.Name(), ".") {
			require.Contains(t, named, e.Name())
		}
	}
}

// packages asks the go command for every package of the module, with all that it depends on.
func packages(t *testing.T) map[string]pkg {
	t.Helper()
	list := exec.CommandContext(t.Context(), "go", "list", "-deps", "-json=ImportPath,Imports,Deps", "./...")
	list.Dir = top
	out, err := list.Output()
	require.NoError(t, err)
	found := map[string]pkg{}
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var one struct {
			ImportPath    string
			Imports, Deps []string
		}
		if err := dec.Decode(&one); errors.Is(err, io.EOF) {
			break
		} else {
			require.NoError(t, err)
		}
		if in(one.ImportPath, "shortday") {
			found[one.ImportPath] = pkg{one.Imports, one.Deps}
		}
	}
	return found
}

func layer(path string) int {
	return slices.IndexFunc(layers, func(l string) bool { return in(path, l) })
}

// in reports whether a package is another, below it, or a major version of it.
func in(path, root string) bool {
	return path == root || strings.HasPrefix(path, root+"/")
}
