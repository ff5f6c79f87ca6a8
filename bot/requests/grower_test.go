package requests_test

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/knowledge/fault"
)

// A forgotten sign puts a grower on the other side of the world; a place at the edge of a wide zone is no such slip.
func TestForgottenSigns(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ zone, place, meant string }{
		{"Europe/Dublin", "53.1,6.7", "53.1,-6.7"},
		{"America/New_York", "40.2,76.3", "40.2,-76.3"},
		{"Pacific/Auckland", "43.6,172.4", "-43.6,172.4"},
		{"America/Argentina/Buenos_Aires", "34.9,57.9", "-34.9,-57.9"},
		{"Pacific/Auckland", "-43.6,172.4", ""},
		{"Europe/London", "52,1.7", ""},
		{"Europe/London", "50.1,-5.5", ""},
		{"Europe/Paris", "48.4,-4.5", ""},
		{"Europe/Madrid", "39.9,4.2", ""},
		{"Pacific/Fiji", "-16.8,-179.9", ""},
		{"Asia/Shanghai", "39.5,76", ""},
		{"America/Guayaquil", "0.3,-78.1", ""},
		{"Africa/Nairobi", "0.5,35.3", ""},
	} {
		reply := openLane(t).says("2026-11-20", fmt.Sprintf("/grower place zone:%s place:%s", c.zone, c.place))
		var offered []string
		for _, next := range reply.Next {
			if strings.HasPrefix(next.Request, "/grower place") {
				offered = append(offered, next.Request)
			}
		}
		if c.meant == "" {
			require.Empty(t, offered, c.place)
			continue
		}
		require.Equal(t, []string{"/grower place place:" + c.meant}, offered)
	}
}

func TestExportIsAllOfOne(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	l.season()
	piet := l.ask("2026-11-20")
	piet.Who = bot.Party{Key: "piet", Name: "Piet: ../../Ångström"}
	require.Nil(t, l.AnswerLine(t.Context(), piet, "/grower place place:52.9,-6.9 keep:7").Refusal)
	require.Nil(t, l.AnswerLine(t.Context(), piet, `/variety stops variety:"Ann's on: Time" own:yes on:"5 jun"`).Refusal)

	reply := l.AnswerLine(t.Context(), piet, "/grower export")
	require.True(t, reply.Private)
	require.Len(t, reply.Files, 1)
	require.Equal(t, "shortday-piet-angstrom.json", reply.Files[0].Name, "a name leads out of no folder")
	type export struct {
		Coop   string `json:"coop"`
		Member struct {
			Name       string `json:"name"`
			KeepStools int    `json:"keep_stools"`
			Place      struct {
				Point struct {
					Lat float64 `json:"lat"`
				} `json:"point"`
			} `json:"place"`
		} `json:"member"`
		Varieties []struct {
			Name     string  `json:"name"`
			Response float64 `json:"response"`
		} `json:"varieties"`
		Batches []struct {
			Mark  string `json:"mark"`
			Count int    `json:"count"`
			Since string `json:"since"`
		} `json:"batches"`
		Plans  []struct{ Stems int }       `json:"plans"`
		Jobs   []struct{ LastSafe string } `json:"jobs"`
		Events []struct{ Deed string }     `json:"events"`
	}
	var all export
	require.NoError(t, json.Unmarshal(reply.Files[0].Data, &all))
	require.Equal(t, 7, all.Member.KeepStools)
	require.Len(t, all.Varieties, 1)
	require.Zero(t, all.Varieties[0].Response, "the co-op's is not theirs")
	require.NotContains(t, string(reply.Files[0].Data), "Oona")

	oona := l.says("2026-11-20", "/grower export")
	require.NoError(t, json.Unmarshal(oona.Files[0].Data, &all))
	require.Len(t, all.Batches, 1)
	require.NotEmpty(t, all.Jobs)
	require.Equal(t, 12, all.Batches[0].Count)
	require.Equal(t, "2026-11-20", all.Batches[0].Since)
	for _, key := range regexp.MustCompile(`(?m)^\s*"([^"]+)": `).FindAllStringSubmatch(string(oona.Files[0].Data), -1) {
		require.Regexp(t, `^[a-z][a-z0-9_]*$`, key[1])
	}
	require.Contains(t, string(oona.Files[0].Data), `"last_safe": "`)
}

// What a member is told of another is public: never the position.
func TestAnotherMembersPlaceIsTheirs(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	l.season()
	l.says("2026-11-20", "/grower place place:53.27,-6.71")
	piet := l.ask("2026-11-20")
	piet.Who = bot.Party{Key: "piet", Name: "Piet"}
	for _, asked := range []string{"/grower show Oona", "/grower show", "/coop show", `/variety show variety:"Ann's on: Time"`} {
		reply := l.AnswerLine(t.Context(), piet, asked)
		require.Nil(t, reply.Refusal)
		require.NotContains(t, fmt.Sprint(reply), "53.27", asked)
	}
	require.Contains(t, l.AnswerLine(t.Context(), piet, "/grower show Oona").Text, "Europe/Dublin")
	refusal := l.AnswerLine(t.Context(), piet, "/grower place place:1,1 for:Oona").Refusal
	require.Equal(t, fault.Barred, refusal.Kind)
}

// Nothing is stored by a request that is refused, not even who asked.
func TestARefusalStoresNothing(t *testing.T) {
	t.Parallel()
	for _, asked := range []string{"/grower place place:95,10", "/grower place zone:Nowhere/Land place:52,1", "/coop setup certainty:20", "/coop setup zone:UTC",
		"/variety add name:Saltmarsh response:9.3", "/variety add name:Saltmarsh natural:\"8 nov\"", "/variety stops variety:Saltmarsh bloom:\"8 nov\""} {
		l := openLane(t)
		require.NotNil(t, l.AnswerLine(t.Context(), l.ask("2026-11-20"), asked).Refusal, asked)
		refusal := l.AnswerLine(t.Context(), l.ask("2026-11-20"), "/coop show").Refusal
		require.NotNil(t, refusal, asked)
		require.Equal(t, fault.Missing, refusal.Kind, asked)
	}
}
