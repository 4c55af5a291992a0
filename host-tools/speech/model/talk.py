"""What other people say on a frequency: sentences of judging only, none of them used in training."""

SENTENCES = """well we finally finished painting the garage and my back is killing me|the grandchildren are coming over on saturday for a cookout
i put up a new beam on the tower two weeks ago and it plays really well|there are about fifteen cars in front of me and nobody is moving
the doctor told me to walk three miles every day so that is what i do|yesterday it was ninety five in the shade and not a cloud anywhere
i bought the receiver in nineteen eighty two and it still works like new|my brother in law has the same model but he never turns it on
you know the coffee at that truck stop is the best between here and the coast|we took the ferry across and had dinner on the other side
hey tom did you ever get that amplifier fixed or are you still waiting for parts|i think the fuse is good but the relay sticks when it is cold
the meeting is at seven thirty in the back room of the library|they are giving a talk on lightning protection and grounding
i do not use a computer for any of that i write it all down in a notebook|my eyes are not what they were so i bought a bigger lamp
take the second exit and follow the signs to the fairgrounds|parking is free but you have to walk a quarter of a mile
the tomatoes did fine but the deer got all of the beans this year|she makes the best apple pie you ever tasted
we lost the power for six hours during the storm|the generator started on the first pull and ran all night long
my daughter is studying to be a nurse and she graduates in june|that must make you very proud indeed
i was on the air with a fellow from the islands this morning and he was loud|then the band just closed like somebody threw a switch
what do you think of the new tires on the van|they are noisy on concrete but very good in the rain
the price of copper is so high now that i saved every piece of old wire|you can still get surplus cable at the swap meet if you come early
let me see it is ten minutes past four here and the sun is going down|i have to feed the horses before it gets dark
we used to run the phone patches for the boys overseas|those were long nights but nobody complained
no the hill is in the way so i can not hear the other side at all|give me a minute until i am over the top
i turned the gain down and the hum went away just like you said|it was the ground loop all along
that bridge has been closed since march and they say it will be another year|so you have to drive all the way around by the dam
the cat climbed up on the desk and pulled the microphone down|luckily nothing broke
if you are going north on eighty one watch out for the construction at mile two twelve|it was down to one lane this morning
we are planning a trip through the canyon in september with the camper|reservations were hard to get for the first week
i can hear somebody underneath you but i can not make out who it is|try once more when he is finished
my first station was one tube and a crystal and a headphone|you would be surprised how far it went
the school called and said that he forgot his lunch again|third time this month if you can believe it
the wind took the top section off in january so now it is only forty feet|i will fix it when the ground dries out
thank you for the information i will try that tonight|good luck with the new house and all of the boxes
it sounds like your batteries are getting tired there|the voltage drops to eleven when i key it
""".replace("\n", "|").strip("|").split("|")
SENTENCES = [s for s in SENTENCES if s]

# Sentences around one call sign; {} is where it stands.
AROUND = ["c q c q calling c q this is {} standing by", "this is {} mobile, over", "good afternoon, this is {}, thanks for the call", "{}, roger roger, good morning to you",
          "and this is {} listening", "{} from mobile station, how do you copy", "{}, go ahead please", "the station calling, this is {}"]
