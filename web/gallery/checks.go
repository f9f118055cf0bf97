package main

func init() {
	Pages = append(Pages, "/note?kind=photo&vessel=boat-pond")
}
