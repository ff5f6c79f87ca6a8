package requests

import (
	"context"
	"fmt"
	"strings"

	"shortday/bot"
	"shortday/knowledge/crop"
	"shortday/knowledge/raising"
)

// hand is what a member has to raise from.
type hand struct {
	stools   held
	told     bool // by the asker, with nothing kept back
	spare    int  // stools that can be raised from
	cuttings int
	plants   int
	known    bool
}

// inHand gives the stools told, else what the register has of the asker's of the variety.
func (c counter) inHand(ctx context.Context, in *bot.In, u undertaking, told int) (hand, error) {
	switch {
	case in.Has("stools"):
		return hand{spare: told, told: true, known: true}, nil
	case u.variety.ID == 0 || u.seat.Zero():
		return hand{}, nil
	}
	has := hand{known: true}
	var err error
	if has.stools, err = c.stools(ctx, in, u.seat, u.seat.Member, u.variety.ID, u.target.ID); err != nil {
		return has, err
	}
	batches, err := c.reg.Batches(ctx, u.seat.Member.ID, u.variety.ID)
	for _, b := range batches {
		switch b.Stage {
		case crop.Boxed, crop.Woken:
		case crop.Taken, crop.Struck:
			has.cuttings += b.Count
		default:
			has.plants += b.Count
		}
	}
	has.spare = max(has.stools.spare(), 0)
	return has, err
}

// says tells what there is of a variety, and what of it is kept back.
func (h hand) says(name string) string {
	if h.told || name == "" {
		return ""
	}
	text := fmt.Sprintf("You have %s of %s, %s", plural(h.stools.have, "stool", "stools"), name, h.stools.says())
	if h.cuttings+h.plants > 0 {
		text += fmt.Sprintf("; besides, %s and %s, which are not counted here", plural(h.cuttings, "cutting", "cuttings"), plural(h.plants, "young plant", "young plants"))
	}
	return text + "."
}

// against compares what there is with what is needed.
func (h hand) against(n raising.Numbers) string {
	if !h.known {
		return ""
	}
	var text []string
	if h.told {
		text = append(text, fmt.Sprintf("You have %s.", plural(h.spare, "stool", "stools")))
	} else {
		text = append(text, fmt.Sprintf("You have %s, %s: %d to raise from.", plural(h.stools.have, "stool", "stools"), h.stools.says(), h.spare))
	}
	switch {
	case h.plants >= n.Plants:
		text = append(text, fmt.Sprintf("The %s you have are enough already.", plural(h.plants, "plant", "plants")))
	case h.cuttings >= n.Cuttings:
		text = append(text, fmt.Sprintf("The %s you have are enough already.", plural(h.cuttings, "cutting", "cuttings")))
	case h.spare >= n.Stools:
		text = append(text, "That is enough.")
	default:
		text = append(text, fmt.Sprintf("That is %d short: ask the co-op for %s, or for %s.", n.Stools-h.spare,
			plural(n.Stools-h.spare, "stool", "stools"), plural(n.Rooted, "rooted cutting", "rooted cuttings")+" in their place"))
	}
	if h.cuttings+h.plants > 0 && h.plants < n.Plants && h.cuttings < n.Cuttings {
		text = append(text, fmt.Sprintf("You have %s and %s besides.", plural(h.cuttings, "cutting", "cuttings"), plural(h.plants, "young plant", "young plants")))
	}
	return strings.Join(text, " ")
}

// short gives how many stools are missing for what is needed; none where cuttings or plants are enough already.
func (h hand) short(n raising.Numbers) int {
	if !h.known || h.plants >= n.Plants || h.cuttings >= n.Cuttings {
		return 0
	}
	return max(0, n.Stools-h.spare)
}
