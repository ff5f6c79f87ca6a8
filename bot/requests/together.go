package requests

import (
	"context"
	"errors"

	"shortday/bot"
	"shortday/knowledge/register"
)

// together makes one transaction of all that a request records, however many deeds that is. A request that is refused
// leaves nothing behind.
func together(reg *register.Register, f bot.Family) bot.Family {
	for i, r := range f.Requests {
		f.Requests[i].Handle = func(ctx context.Context, in *bot.In) (reply bot.Reply, err error) {
			err = reg.Together(ctx, func(ctx context.Context) error {
				var err error
				reply, err = r.Handle(ctx, in)
				if err = first(err, in.Err()); err == nil && reply.Refusal != nil {
					err = takenBack{}
				}
				return err
			})
			if errors.Is(err, takenBack{}) {
				err = nil
			}
			return reply, err
		}
	}
	return f
}

// takenBack takes back what a request recorded before it was refused with a reply of its own.
type takenBack struct{}

func (takenBack) Error() string { return "the request was refused" }
