package scheduler

import (
	"context"
	"fmt"

	"shortday/knowledge/register"
)

// composer makes the notice of a tiding, of which co-op, member, kind and day are there already; false where
// nothing is left to say.
type composer func(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error)

// composers are what tidings are told by, a file a noun.
func composers() map[register.TidingKind]composer {
	return with(swapComposers(), warningComposers())
}

func composeTold(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	compose, ok := composers()[t.Kind]
	if !ok {
		return n, false, fmt.Errorf("nothing tells of %q", t.Kind)
	}
	if n.Member.Key == "" {
		set, err := reg.Notices(ctx, t.Coop)
		if err != nil {
			return n, false, err
		}
		n.Place = set.Place
	}
	return compose(ctx, reg, n, t)
}
