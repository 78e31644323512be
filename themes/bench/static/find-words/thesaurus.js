// @ts-check
/* thesaurus.py */
(() => {
  const { byUnits, into, kept, NONE } = basics;
  const EVERY = "",
    JUDGED = 40;

  const tongueOf = (data) => {
    const list = (text) => (text ? text.split(" ") : NONE);
    const groups = new Map(),
      phrases = new Map(),
      words = new Set([...list(data.stop), ...list(data.plain)]);
    for (const [name, members] of Object.entries(data.words)) {
      for (const word of list(members)) {
        into(groups, word, name);
        words.add(word);
      }
    }
    for (const [name, said] of Object.entries(data.phrases)) {
      phrases.set(name, said.split(","));
      for (const word of said.split(/[ ,]/)) words.add(word);
    }
    return {
      groups,
      phrases,
      stop: new Set(list(data.stop)),
      plain: list(data.plain),
      endings: list(data.endings),
      words,
    };
  };

  class Thesaurus {
    constructor() {
      this.tongues = new Map();
      this.lexicon = kept(
        (languages) => lexiconOf(this.held(languages)),
        (languages) => languages.join(" "),
      );
    }

    add(data) {
      for (const [language, tongue] of Object.entries(data)) this.tongues.set(language, tongueOf(tongue));
    }

    held(languages) {
      return [EVERY, ...languages].map((language) => this.tongues.get(language)).filter(Boolean);
    }

    get languages() {
      return [...this.tongues.keys()].filter((language) => language !== EVERY).sort(byUnits);
    }

    spoken(tokens, among) {
      const judged = tokens.slice(0, JUDGED);
      const counts = among.map(
        (name) => judged.filter((token) => this.tongues.get(name).words.has(token)).length,
      );
      const most = Math.max(0, ...counts);
      return among.filter((_, n) => counts[n] === most);
    }

    knows(token, among) {
      return this.held(among).some((tongue) => tongue.words.has(token));
    }
  }

  window.BenchloreWords = { ...basics, textTools, Thesaurus };
})();
