package requests

import (
	"shortday/bot"
	"shortday/bot/picture"
)

// chartField asks for a picture beside the words.
func chartField() bot.Field {
	return bot.Field{Name: "chart", Help: "yes for a picture of it", Kind: bot.YesKind}
}

// drawing is what the package picture draws.
type drawing interface {
	Draw() ([]byte, error)
	Alt() string
}

// drawn gives a picture as a file.
func drawn(name string, d drawing) (bot.File, error) {
	data, err := d.Draw()
	return bot.File{Name: name + ".png", Type: picture.Type, Alt: d.Alt(), Data: data}, err
}

// changed is the same request with a field changed or added.
func changed(in *bot.In, field, text string) string {
	pairs := []string{field, text}
	for _, e := range in.Fields {
		if e.Field != field {
			pairs = append(pairs, e.Field, e.Text)
		}
	}
	return bot.Typed(in.Request, pairs...)
}
