package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/guide"
	"shortday/knowledge/register"
)

// Plain questions of growers who are no specialists, and the topic that answers each.
var questions = []struct{ asked, topic string }{
	{"when do I lift the plants?", "lifting"},
	{"what do I do after flowering", "lifting"},
	{"how do I box stools for winter", "lifting"},
	{"how far do I cut down after the bloom", "lifting"},
	{"should I wash the soil off the roots", "lifting"},
	{"how cold should the winter store be", "winter-store"},
	{"my boxed stools are rotting", "winter-store"},
	{"slugs in the boxes", "winter-store"},
	{"how often do I check the store", "winter-store"},
	{"what are rosettes", "winter-store"},
	{"do they need a cold rest", "winter-store"},
	{"how do I wake my stools", "waking"},
	{"when to start stools into growth", "waking"},
	{"how warm for waking", "waking"},
	{"how many shoots does a stool give", "waking"},
	{"how do I take cuttings", "cuttings"},
	{"how long should a cutting be", "cuttings"},
	{"which shoots make good cuttings", "cuttings"},
	{"rooting powder", "cuttings"},
	{"can I keep cuttings in a bag", "cuttings"},
	{"how long until cuttings root", "rooting"},
	{"how long does it take to root in a propagator", "rooting"},
	{"do I need bottom heat", "rooting"},
	{"how do I strike cuttings", "rooting"},
	{"how do I know they are rooted", "rooting"},
	{"what size pot", "potting"},
	{"when do I pot on", "potting"},
	{"final pot size for lates", "potting"},
	{"when to repot", "potting"},
	{"how do I harden off", "hardening-off"},
	{"when can they go into the cold frame", "hardening-off"},
	{"when do I plant out", "planting"},
	{"how far apart do I plant", "planting"},
	{"spacing in the bed", "planting"},
	{"do I need canes or netting", "planting"},
	{"when should I stop my plants", "stopping"},
	{"what is pinching", "stopping"},
	{"why does the stopping date matter", "stopping"},
	{"how do I pinch out the tip", "stopping"},
	{"what is a stop key", "stopping"},
	{"can I stop twice", "stopping"},
	{"is it too late to stop", "stopping"},
	{"what is a crown bud", "buds"},
	{"crown or terminal bud?", "buds"},
	{"when does colour show in the bud", "buds"},
	{"how do I disbud", "disbudding"},
	{"which buds do I take out of a spray", "disbudding"},
	{"do I remove side buds", "disbudding"},
	{"how do I hold a bloom back a few days", "securing"},
	{"what does securing a bud mean", "securing"},
	{"the buds are too early", "securing"},
	{"when do lates come under cover", "housing"},
	{"when do I bring pots into the greenhouse", "housing"},
	{"how much ventilation in the tunnel", "housing"},
	{"damp spoils the petals", "housing"},
	{"why do they bloom in autumn", "day-length"},
	{"what is a short day plant", "day-length"},
	{"what is a response group", "day-length"},
	{"what is critical day length", "day-length"},
	{"does latitude matter", "day-length"},
	{"how do I black out", "black-out"},
	{"how do I get an earlier bloom", "black-out"},
	{"when do I uncover shaded plants", "black-out"},
	{"how do night lights work", "night-break"},
	{"how do I get a later bloom with lamps", "night-break"},
	{"night break hours", "night-break"},
	{"cyclic lighting", "night-break"},
	{"how often do I water", "watering"},
	{"my plants are wilting at noon", "watering"},
	{"water in the morning or evening", "watering"},
	{"when do I feed", "feeding"},
	{"which fertiliser", "feeding"},
	{"when do I stop feeding", "feeding"},
	{"when do I pick", "picking"},
	{"how do I make cut flowers last in the vase", "picking"},
	{"at what stage are sprays harvested", "picking"},
	{"how many stems in a bunch", "picking"},
	{"what does white rust look like", "health"},
	{"how long is quarantine for new stock", "health"},
	{"hot water treatment for eelworm", "health"},
	{"is stunt viroid catching", "health"},
	{"spots on the leaves", "health"},
	{"may I share protected varieties", "sharing"},
	{"do I need a plant passport", "sharing"},
	{"breeders rights licence", "sharing"},
	{"how do I swap with neighbours", "sharing"},
	{"pencil or marker on labels?", "labels"},
	{"I lost a label", "labels"},
	{"what do the section numbers mean", "classes"},
	{"difference between incurved and reflexed", "classes"},
	{"what is an early variety", "classes"},
	{"how many cuttings do I need for 200 stems", "numbers"},
	{"how many spare plants should I raise", "numbers"},
	{"will frost kill them", "frost"},
	{"hot nights and delayed flowers", "frost"},
	{"how do I not lose a variety", "keeping"},
	{"insurance for a rare variety", "keeping"},
	// mistyped
	{"how do I take cutings", "cuttings"},
	{"when is disbuding done", "disbudding"},
	{"stoping dates", "stopping"},
	{"fertilzer", "feeding"},
}

func TestGuideAnswersPlainQuestions(t *testing.T) {
	t.Parallel()
	g := plant(t)
	for _, q := range questions {
		found, err := g.SearchGuide(t.Context(), guide.Words(q.asked))
		require.NoError(t, err)
		if len(found.Topics) == 0 || found.Topics[0] != q.topic {
			t.Errorf("%q: want %s, got %+v", q.asked, q.topic, found)
		}
	}
}

func TestGuideSaysWhenItDoesNotKnow(t *testing.T) {
	t.Parallel()
	g := plant(t)
	for _, asked := range []string{"how do I fix my car", "what is the capital of France", "prune roses", "who won the match", "tulip bulbs",
		"write me a poem", "42", "the and of", "", "tomato seedlings", "\" OR title:*", "*", "🌼"} {
		found, err := g.SearchGuide(t.Context(), guide.Words(asked))
		require.NoError(t, err, asked)
		require.Empty(t, found.Topics, "%q: %+v", asked, found)
	}
}

func TestGuideReadsMistypedWords(t *testing.T) {
	t.Parallel()
	g := plant(t)
	found, err := g.SearchGuide(t.Context(), guide.Words("cutings"))
	require.NoError(t, err)
	require.Equal(t, []register.Reading{{Typed: "cutings", Meant: "cuttings"}}, found.Read)
}

// What changed in the texts is found after the next question, and only once is the index made anew.
func TestGuideIsIndexedAnew(t *testing.T) {
	t.Parallel()
	g := plant(t)
	search := func() register.GuideFound {
		found, err := g.SearchGuide(t.Context(), []string{"black"})
		require.NoError(t, err)
		return found
	}
	require.Equal(t, "black-out", search().Topics[0])
	_, err := g.DB().ExecContext(t.Context(), `DELETE FROM guide_text`)
	require.NoError(t, err)
	require.Empty(t, search().Topics, "the digest is the texts' own, so nothing is done")
	_, err = g.DB().ExecContext(t.Context(), `UPDATE guide_state SET digest = 'of older texts'`)
	require.NoError(t, err)
	require.Equal(t, "black-out", search().Topics[0])
}

func FuzzSearchGuide(f *testing.F) {
	g := plant(f)
	f.Add(`"stop`)
	f.Add("NEAR(a b) AND title:x*")
	f.Fuzz(func(t *testing.T, question string) {
		_, err := g.SearchGuide(t.Context(), guide.Words(question))
		require.NoError(t, err)
	})
}

func BenchmarkSearchGuide(b *testing.B) {
	g := plant(b)
	for _, asked := range []string{"how do I take cuttings", "how do I take cutings", "the capital of France"} {
		b.Run(asked, func(b *testing.B) {
			for b.Loop() {
				_, err := g.SearchGuide(b.Context(), guide.Words(asked))
				require.NoError(b, err)
			}
		})
	}
}
