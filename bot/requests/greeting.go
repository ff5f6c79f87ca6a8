package requests

import "shortday/bot"

// Greeting is what a server is told when its steward has added us.
func Greeting(server string) bot.Reply {
	return bot.Reply{
		Title: "Good day, " + server,
		Text: "I am Shortday, for growers of chrysanthemums who keep and swap their stock together. Tell me what you grow and when it is to bloom, and I reckon " +
			"every date of the year from it, remind you in time, and keep one register of everybody's plants.\n\n" +
			"A steward, that is whoever may manage this server, sets the co-op up with /coop setup: the channel for notices and their times, the time zone and position, and the units. " +
			"Everybody else begins with /stock add, and /help lists all that can be asked, here or in a direct message to me.",
		Next: []bot.Next{{Label: "Set the co-op up", Request: "/coop setup"}, {Label: "What can I ask?", Request: "/help"}},
	}
}
