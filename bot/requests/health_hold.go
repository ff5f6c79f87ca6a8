package requests

import (
	"context"
	"fmt"

	"shortday/bot"
	"shortday/knowledge/register"
)

// apartWords says how long new stock stands apart, "" where that is over.
func apartWords(h register.Hold) string {
	if h.Why != register.HeldApart {
		return ""
	}
	return fmt.Sprintf("New stock stands apart until %s: look at it weekly, and pass none of it on before.", h.Last.Long())
}

// heldBy gives what holds a member's batches back today, by batch: the hold that lasts longest.
func (c counter) heldBy(ctx context.Context, in *bot.In, own register.Member) (map[int64]register.Hold, error) {
	holds, err := c.reg.Holds(ctx, own.ID, in.Today())
	by := make(map[int64]register.Hold, len(holds))
	for _, h := range holds {
		if h.Last > by[h.Batch].Last {
			by[h.Batch] = h
		}
	}
	return by, err
}

// heldOf says which of a member's own batches are held back, until when and why, "" where none is.
func (c counter) heldOf(ctx context.Context, in *bot.In, own register.Member, batches []register.Batch) (string, error) {
	held, err := c.heldBy(ctx, in, own)
	var words []string
	for _, b := range batches {
		if h, is := held[b.ID]; is {
			words = append(words, fmt.Sprintf("%s until %s (%s)", b.Mark, h.Last.Long(), holdWords(h)))
		}
	}
	if err != nil || len(words) == 0 {
		return "", err
	}
	return "Held back from offers and handovers: " + some(words, 6) + ". /health clear has all that is held.", nil
}
