// Package bottest plays written conversations through any adapter, for tests. What an adapter shows it leaves to it.
package bottest

import (
	"context"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// Turn is one request of a conversation.
type Turn struct {
	Who, Coop string
	At        time.Time
	Clock     bool   // At is what the asker's clock shows, whatever the zone
	Request   string // as typed; a number takes what the last reply to the same person offered
	Dir       string // where the files of the script are, by which a field of bot.FileKind names them
	Want      string // the reply that the script has, without its indent; "" where none is written yet
}

// Adapter is what the conversations are played through. A register keeps what was recorded over Restart.
type Adapter interface {
	// Say gives the reply as the script is to have it.
	Say(ctx context.Context, turn Turn) (shown string, err error)
	Restart(ctx context.Context) error
	Close() error
}

// Play runs each .txtar file of a folder as a test, with an adapter of its own that may keep files in the folder given
// to open. Beside testscript's own commands a script has
//
//	conversation FILE                       plays a written dialogue and prints it with its replies
//	at 2027-03-01 07:00                     sets the clock, for asks and dialogues that follow
//	ask [-as NAME] [-coop NAME] REQUEST...  prints one reply
//	restart                                 closes the register and opens it again
//	photo FILE WIDTHxHEIGHT                 makes a JPEG, with a place in its EXIF, for a field to name
//
// and with update the replies in the files are written anew.
func Play(t *testing.T, folder string, update bool, open func(ctx context.Context, dir string) (Adapter, error)) {
	testscript.Run(t, testscript.Params{
		Dir:                 folder,
		UpdateScripts:       update,
		RequireUniqueNames:  true,
		RequireExplicitExec: true,
		Setup: func(env *testscript.Env) error {
			ctx, cancel := context.WithCancel(context.Background())
			env.Defer(cancel)
			adapter, err := open(ctx, env.WorkDir)
			if err != nil {
				return err
			}
			s := &stage{ctx: ctx, adapter: adapter, dir: env.WorkDir, blank: update}
			env.Values[stageKey{}] = s
			env.Defer(func() { env.T().Log(adapter.Close()) })
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"conversation": on((*stage).conversation),
			"at":           on((*stage).at),
			"ask":          on((*stage).ask),
			"restart":      on((*stage).restart),
			"photo":        on((*stage).photo),
		},
	})
}

type stageKey struct{}

// on makes a command of a method of the script's stage.
func on(do func(s *stage, ts *testscript.TestScript, args []string) error) func(*testscript.TestScript, bool, []string) {
	return func(ts *testscript.TestScript, neg bool, args []string) {
		if neg {
			ts.Fatalf("a refusal is a reply too: compare it, without !")
		}
		s, ok := ts.Value(stageKey{}).(*stage)
		if !ok {
			ts.Fatalf("the script was not set up")
		}
		ts.Check(do(s, ts, args))
	}
}
