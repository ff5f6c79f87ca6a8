package bot_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
)

func TestComplete(t *testing.T) {
	t.Parallel()
	d, log := desk(t, bot.Standing{})
	ask := bot.Ask{At: noon, Request: "/shed add", Fields: []bot.Entry{{Field: "wood", Text: "oak"}}}
	offered := func(field, typed string) []bot.Choice { return d.Complete(t.Context(), ask, field, typed) }

	require.Len(t, offered("tool", ""), bot.Offered)
	require.Equal(t, []bot.Choice{{Label: "beech", Value: "beech", Also: []string{"hardwood"}}}, offered("wood", "EE"))
	require.Equal(t, bot.Choices("yes"), offered("sharp", "y"))
	require.Equal(t, []bot.Choice{{Label: "Mon 1 Mar 2027", Value: "2027-03-01"}}, offered("bought", ""))
	require.Empty(t, offered("bought", "2027-0"))
	require.Empty(t, offered("count", ""))
	require.Empty(t, offered("age", ""))
	require.Empty(t, log.String())
}

func TestMatchingPutsBeginningsFirst(t *testing.T) {
	t.Parallel()
	require.Equal(t, bot.Choices("ash", "wash"), bot.Matching(bot.Choices("wash", "oak", "ash"), "as"))
}
