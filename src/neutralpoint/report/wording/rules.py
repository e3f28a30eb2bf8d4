"""The rules of wording: what a sentence may not say of a track, why, and what to say instead.

Each rule is a pattern with guards. The patterns are English and heuristic: they find the usual
ways to overclaim, not every way. tests/unit/test_wording.py counts what they find and miss.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

PEOPLE = (
    r"(?:(?:the|a|an|both|any|his|her|their|our|\w+) )?(?:co-?pilots?|pilots?|captain|"
    r"first officer|second officer|crew|flight crew|commander|controller|mechanics?|dispatcher|"
    r"operator|airman|aviator|instructor|student|passengers?)"
)
PERSON = rf"(?:\b{PEOPLE}(?-i:(?:,? [A-Z]\w+){{0,2}})|\b(?:he|she|they|somebody|someone))"
SAYING = (
    r"(?:data|track|record|recordings?|analysis|figures?|charts?|curves?|evidence|radar|physics|"
    r"numbers?|simulations?|calculations?|model|results?|this|that|it|we)"
)
# Words before a match that turn it round, or make it a question or a supposition.
NEGATED = re.compile(
    r"\b(?:not|no|never|cannot|nothing|nobody|none|neither|nor|without|whether|hardly)\b|n['\u2019]t\b"
)
SUPPOSED = re.compile(r"\b(?:if|could|can|may|might|would|whether|suppose|candidate)\b")
NEAR = 60  # characters before a match in which such a word counts


@dataclass(frozen=True)
class Rule:
    """A way to say too much.

    Attributes:
        name: What it is called in the output.
        pattern: What is looked for, in small or capital letters.
        why: Why it says too much.
        instead: What to write.
        negatable: True where a negation before it makes it innocent.
        supposable: True where an "if" or "could" before it makes it innocent.
        unless: A pattern that, anywhere in the sentence, makes it innocent.
    """

    name: str
    pattern: re.Pattern[str]
    why: str
    instead: str
    negatable: bool = True
    supposable: bool = False
    unless: re.Pattern[str] | None = None


def _any(*parts: str) -> re.Pattern[str]:
    return re.compile("|".join(parts), re.IGNORECASE)


DATA_FAULT = _any(
    r"\b(?:gap|outlier|jitter|receiver|antenna|rounding|quantiz|steps? in|lag|clock|noise|"
    r"reflection|band (?:is|grows))"
)
RULES: tuple[Rule, ...] = (
    Rule(
        "proof",
        _any(
            r"\bprov(?:e|es|ed|en|ing)\b",
            r"(?<!water)\bproof\b(?! (?:load|test|pressure|stress|read))",
            rf"\b{SAYING}\b(?: \w+){{0,3}} (?:confirm|verif|demonstrat|establish|conclusively)\w*",
            r"\bconclusive(?:ly)?\b",
            r"\bsmoking gun\b",
            r"\bleaves? no doubt\b",
        ),
        "A track is consistent with a cause or not; it proves none.",
        "is consistent with",
    ),
    Rule(
        "cause",
        _any(
            r"\bcaused\b",
            r"\bthe cause (?:of|was|is)\b",
            r"\b(?:crash|crashed|accident|descent|dive|dived|upset|loss of control|impact|failure|"
            r"fell|came down|went down)\b.{0,40}"
            r"\b(?:due to|because of|owing to)\b",
            r"\b(?:led to|resulted in|brought down|brought on|triggered|gave rise to)\b",
            r"\bthe reason (?:for|why|that|the)\b",
            r"\bculprit\b",
            r"\bwhat made the (?:airplane|aircraft|plane)\b",
        ),
        "The data allow causes and exclude some; the investigation determines which it was.",
        "could have made this path, as could others (see the odds)",
        supposable=True,
        unless=DATA_FAULT,
    ),
    Rule(
        "asserted",
        _any(
            r"\b(?:trim|stabilizer|tab|motor|jackscrew)\b(?: \w+){0,2} (?:ran|runs|had run) away\b",
            r"\b(?:a|the|this) (?:\w+ ){0,2}(?:runaway|jam|shift|stall|failure|separation|"
            r"hard-?over) (?:explains|accounts for|is behind|was behind|is what)\b",
            r"\b(?:airplane|aircraft|plane|tail|wing|stabilizer|elevator)s? "
            r"(?:broke (?:up|apart|off|away)|came (?:apart|off)|separated|fell off)\b",
            r"\b(?:load|cargo|pallet|freight|baggage) (?:shifted|slid|moved|broke loose)\b",
            r"\b(?:elevator|control|linkage|rod)s? (?:\w+ly )?(?:jammed|seized|parted|stuck)\b",
            r"\b(?:engine|motor)s? (?:\w+ly )?(?:failed|quit|died|seized|flamed out)\b",
            r"\b(?:wing|tail|tailplane|airplane|aircraft) stalled\b",
            r"\bautopilot (?:mistrimmed|ran the trim|drove the trim)\b",
            rf"{PERSON} (?:was|became|were) (?:incapacitated|unconscious)\b",
            r"\bkilled (?:everyone|everybody|all|them|both)\b",
        ),
        "A listed cause told as what happened: the data allow it, and the odds compare it.",
        "if a runaway (or another listed cause), ...; or: its odds, with the range",
        supposable=True,
        unless=_any(
            r"\b(?:if|consistent with|simulat\w+|as though|as if|candidate|odds|likel\w+|"
            r"probab\w+|in the model|recorded|recorder|found|prov\w+|demonstrat\w+)\b",
            DATA_FAULT.pattern,
        ),
    ),
    Rule(
        "certainty",
        _any(
            r"\b(?:definitely|obviously|undoubtedly|unquestionably|indisputabl[ey]|undeniabl[ey]|"
            r"inevitabl[ey]|indeed certain)\b",
            r"(?<!almost )\bcertainly\b",
            r"(?:^|[,;] )(?:clearly|plainly|of course|surely)\b",
            r"\bmust (?:surely )?have \w+(?:ed|en|un|ne|wn|ad|ost)\b",
            r"\bmust have been\b",
            r"\b(?:there is|there can be|there was) no (?:other|doubt|question|way)\b",
            r"\b(?:without|beyond) (?:a |any )?(?:question|doubt)\b",
            r"\bno doubt\b",
            r"\bthe only (?:possible |plausible |remaining )?(?:explanation|cause|answer)\b",
            r"\bit is (?:quite |now )?certain\b",
            r"\b(?:it is|that is) a fact that\b",
            r"\b(?:know|knew|known) for (?:sure|certain)\b",
            r"\b(?:100|one hundred) ?(?:%|percent|per cent) (?:sure|certain)\b",
            r"\bruled? out\b",
        ),
        "Nothing derived from a track is certain.",
        "give the likelihood, word and number together",
    ),
    Rule(
        "hindsight",
        _any(
            rf"{PERSON} (?:should(?:n['\u2019]t| not)?|ought to) have\b",
            r"\b(?:should(?:n['\u2019]t| not)?|ought(?:n['\u2019]t| not)? to) have "
            r"\w+(?:ed|en|wn)\b",
            rf"{PERSON} (?:could|might) (?:easily|simply|well|just) have\b",
            r"\bif only\b",
            rf"\ball {PERSON} had to do\b",
            r"\b(?:competent|good|proper|skilled|trained|careful) (?:pilot|crew|captain)s? would\b",
        ),
        "Hindsight: what somebody should have done cannot be read from a path.",
        "say what time and force a procedure takes, with its band, as a lesson for design",
        negatable=False,
    ),
    Rule(
        "blame",
        _any(
            r"\b(?:pilot|human|crew|operator|maintenance)[ -]error\b",
            r"\b(?:is|are|was|were) to blame\b",
            r"\bblam(?:e|es|ed|ing)\b (?:the|him|her|them|on|lies|falls)",
            rf"{PERSON} failed to\b",
            rf"(?:\b{PEOPLE}['\u2019]s?|\b(?:his|her|their)|\b\w+['\u2019]s) (?:own )?fault\b",
            r"\bat fault\b",
            r"\b(?:negligen(?:t|ce)|careless(?:ly|ness)?|reckless(?:ly|ness)?|incompeten(?:t|ce)|"
            r"inexcusabl[ey]|irresponsibl[ey]|sloppy|stupid(?:ly)?)\b",
            rf"(?:{PERSON} made|\b(?:his|her|their|the pilot['\u2019]s|the crew['\u2019]s))"
            r" (?:a |an )?(?:\w+ )?(?:mistake|error|blunder)",
            r"\b(?:mishandled|botched|bungled|neglected)\b",
            r"\bresponsible for (?:this|the) (?:accident|crash|dive|upset|loss|deaths?)\b",
        ),
        "No blame: a path shows nobody's skill or error.",
        "say what happened, and leave the judgment to those who are charged with it",
    ),
    Rule(
        "intent",
        _any(rf"{PERSON} never (?:touched|pressed|used|reached for|pulled)\b"),
        "The hands on a control leave no mark of their own in a track.",
        "the path is consistent with no action on that control; the data do not say",
        negatable=False,
        unless=_any(r"\bconsistent with\b"),
    ),
    Rule(
        "intent",
        _any(
            rf"{PERSON} (?:then |had |was |were |desperately |only |also |never )*(?:tried|trying|"
            r"attempted|attempting|wanted|decided|intended|chose|meant|thought|believed|knew|"
            r"reali[sz]ed|noticed|panicked|panicking|felt|feared|struggled|struggling|fought|"
            r"fighting|ignored|forgot|hesitated|froze|hoped|expected|distracted|confused|"
            r"disoriented|unaware|aware)\b",
            rf"{PERSON} (?:then |had |was |were |immediately |only |\w+ly )*(?:pulled|pulling|"
            r"pushed|pushing|let go|released|disconnected|switched|reached for|trimmed|retarded|"
            r"reduced power|added power|applied|held back|rolled|steered|turned)\b",
            r"\b(?:deliberate(?:ly)?|intentional(?:ly)?|on purpose|wilful(?:ly)?|suicid\w+)\b",
            r"\bin (?:a|an)(?: \w+)? attempt to\b",
        ),
        "Intent, thought and the hands on a control leave no mark of their own in a track.",
        "the path is consistent with a pull on the column; the data do not say who or why",
        supposable=True,
        unless=_any(r"\bconsistent with\b"),
    ),
    Rule(
        "intent",
        _any(
            r"\b(?:never|did(?: not|n['\u2019]t)) (?:even )?(?:touch|use|reach|pull|push|press|"
            r"move|operate|try)(?:ed|d)? (?:for )?(?:the|a|any|his|her|their) (?:\w+ )?"
            r"(?:cut-?out|switch|button|breaker|trim|column|wheel|yoke|stick|disconnect)\b"
        ),
        "What hands did not touch leaves no mark in a track either.",
        "say that the data do not show whether it was used",
        negatable=False,
        supposable=True,
    ),
)
NAME = r"[A-Z][a-z\u00e0-\u00ff]+(?:-[A-Z][a-z]+)?"
TITLE = (
    r"(?:Captain|Capt\.?|First Officer|Second Officer|Officer|Mr\.?|Mrs\.?|Ms\.?|Dr\.?|Sir|Lady|"
    r"[Cc]o-?[Pp]ilot|[Pp]ilot|[Pp]assenger|[Cc]ontroller|[Mm]echanic|[Ii]nstructor|[Ww]itness)"
)
DOES = (
    r"(?:said|told|was|were|had|flew|radioed|sat|died|answered|called|saw|pulled|pushed|reported|"
    r"did|owned|owns|lived|lost)"
)
PERSONAL = (
    re.compile(rf"\b{TITLE},? ({NAME}(?: {NAME})?)"),
    re.compile(rf"\b({NAME} {NAME}), (?:aged )?\d\d\b"),
    re.compile(rf"\b({NAME} {NAME})(?:['\u2019]s)? (?:fault|family|wife|husband|{DOES})\b"),
)
# First or last words that show that two capital words are no person.
NO_PERSON = frozenset(
    re.findall(
        r"\w+",
        """
        The This That These Those A An Every Each Runway Annex Part Table Figure Chart North South
        East West Upper Lower Safety Board Air Traffic Control Tower Radar Federal National Point
        Island Hollow Grove Airport Field Bay Lake Mount County Street Road January February March
        April May June July August September October November December Monday Tuesday Wednesday
        Thursday Friday Saturday Sunday Report Case Committee Ministry Agency Authority Office In On
        At If When What Nobody Nothing We It He She They
        """,
    )
)
NAME_WHY = "The name of a private person; the physics does not need it."
NAME_INSTEAD = "the pilot, a passenger, a witness: the role instead of the name"
