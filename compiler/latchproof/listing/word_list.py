"""Words for fingerprints: common things, none much like another when it is read out."""

_TEXT = """
acorn alder almond amber anchor apple apron arrow aspen attic autumn badge bakery balcony bamboo banjo barley
barrel basil basket beacon beaver bench berry birch biscuit blanket blossom bonnet bottle bramble bridge broom
bucket bugle butter button cabin cactus camel candle canoe canyon carpet carrot castle cedar cellar cello
chalk cherry chestnut chimney cider cinnamon circle clover cobble coconut comet compass copper coral cotton
crater cricket crystal cupboard curtain daisy dancer desert diamond dolphin donkey doorbell dragon drummer
eagle easel elbow ember engine falcon feather fender ferry fiddle finch flannel flute forest fossil fountain
fox garden garlic geyser ginger glacier goblet goose granite grape gravel guitar hammer hammock harbour
harvest hazel hedge helmet heron honey hornet igloo island ivory jacket jasmine jigsaw juniper kayak kernel
kettle kitten ladder lagoon lantern lavender lemon library lilac lobster locket lumber magnet mango maple
marble meadow melon mirror mitten mosaic mustard napkin nectar needle nutmeg oak oasis oatmeal ocean olive
onion orange orchard otter oyster paddle palace pancake panther paper pasture peacock pebble pelican pencil
pepper piano pigeon pillow planet plum pocket pony poppy potato prairie pumpkin puzzle quarry quartz rabbit
raccoon radish raisin raven ribbon river robin rocket rooster rope rosemary saddle saffron sandal satchel
saucer sawmill scarf seagull shelter shovel silver slipper spinach spruce squirrel stable statue stork sugar
sunset swallow tablet teapot temple thimble thistle thunder tiger timber toffee tomato topaz tractor trumpet
tulip tundra tunnel turnip turtle umbrella valley vanilla velvet village violin volcano waffle wagon walnut
walrus waterfall willow window winter wizard wombat yogurt zebra
"""
WORDS = tuple(_TEXT.split())
